"""Match in a real browser: a photo clicked, a palette, likeness, and an address that says what was asked."""

from collections.abc import Iterator

import pytest

from tests.app.conftest import fill, jpeg
from tests.browser.driving import PHONE, go, opened_page, overflow_px, served, settle

pytestmark = pytest.mark.browser

WAYS = ("pick", "type", "tile", "photo", "palette", "like")
"""As they stand in an address."""


@pytest.fixture(scope="module")
def address(tmp_path_factory) -> Iterator[str]:
    from catalog.store import Catalog

    home = tmp_path_factory.mktemp("match") / "home"
    with Catalog.open(home) as catalog:
        fill(catalog)
    with served(home) as found:
        yield found


def codes(page) -> list[str]:
    page.locator(".board .slot").first.wait_for()
    return page.locator(".board button").evaluate_all("all => all.map(b => b.dataset.code)")


def test_a_click_on_a_photo_finds_the_tile_of_that_colour(browser, address) -> None:
    with opened_page(browser) as page:
        go(page, address, f"match?by={WAYS[3]}")
        page.locator('input[type="file"]').set_input_files(
            {"name": "shard.jpg", "mimeType": "image/jpeg", "buffer": jpeg((226, 223, 213), size=(700, 500))}
        )
        spot = page.locator(".spot")
        spot.wait_for()
        settle(page)
        spot.click()
        page.locator(".board .slot").first.wait_for()
        settle(page)
        assert codes(page)[0] in ("T-0003", "T-0004")  # the whites of conftest


def test_a_palette_and_likeness_find_tiles_and_stand_in_the_address(browser, address) -> None:
    with opened_page(browser) as page:
        go(page, address, "match")
        page.get_by_text("Two or three colours", exact=True).click()
        settle(page)
        assert f"by={WAYS[4]}" in page.url
        assert len(codes(page)) == 6
        go(page, address, f"match?by={WAYS[5]}&tile=T-0005")
        assert codes(page)[0] == "T-0006"
        assert "T-0005" not in codes(page)
        go(page, address, "match?colour=%2354667a")
        assert codes(page)[0] in ("T-0001", "T-0002")


def test_every_way_fits_a_phone_in_the_dark(browser, address) -> None:
    with opened_page(browser, PHONE, "dark") as page:
        for way in WAYS:
            go(page, address, f"match?by={way}")
            assert overflow_px(page) <= 0, way
