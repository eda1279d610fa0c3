"""The Bench in a real browser: a batch of twenty like the last one, touches and seconds counted.

Seconds are those of this computer, from the first touch on; a person's own pace comes on top.
"""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from catalog.bench.records import GlazingDraft, LayerDraft
from catalog.store import Catalog
from tests.app.conftest import fill
from tests.browser.driving import PHONE, WIDE, go, opened_page, overflow_px, served, settle

pytestmark = pytest.mark.browser

MOST_SECONDS = 30.0
"""The line that a batch like the last one is held to."""

PARTS = ("Glaze", "Stages", "Buckets", "Before loading")


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six made-up pieces, two buckets, and twenty mugs glazed last week."""
    place = tmp_path_factory.mktemp("bench") / "home"
    with Catalog.open(place) as catalog:
        fill(catalog)
        bench = catalog.bench
        bench.add_bucket("Iron colour", kind="underglaze", code="U-1")
        bench.add_bucket("Slate blue", gravity=1.45)
        layers = (LayerDraft("U-1", "brush", 3), LayerDraft("B-0001", "dip", 1, 3.0))
        clay = catalog.bodies()[0].id
        bench.glaze(GlazingDraft(layers, new=20, kind="ware", body_id=clay, foot_wiped=True))
    return place


@pytest.fixture(scope="module")
def address(home: Path) -> Iterator[str]:
    with served(home) as found:
        yield found


@pytest.mark.parametrize("size", [PHONE, WIDE], ids=["390", "1280"])
def test_twenty_pieces_like_the_last_batch(browser, address, home, size) -> None:
    with opened_page(browser, size) as page:
        go(page, address, "bench")
        assert overflow_px(page) <= 0
        begun, touches = time.monotonic(), 0
        page.get_by_role("button", name="Keep: 20 pieces glazed").first.click()
        touches += 1
        page.get_by_text("20 pieces kept as glazed").wait_for()
        seconds = time.monotonic() - begun
        settle(page)
        assert overflow_px(page) <= 0
        print(f"\n{size[0]} px, twenty like the last batch: {touches} touch, {seconds:.1f} s")
        assert seconds < MOST_SECONDS
        with Catalog.open(home) as catalog:
            again, first = catalog.bench.glazings()
            assert (again.layers, again.foot_wiped, len(again.made)) == (first.layers, True, 20)
        page.get_by_role("button", name="Undo").click()
        page.get_by_text("Taken back: 20 pieces").wait_for()
    with Catalog.open(home) as catalog:
        assert len(catalog.bench.glazings()) == 1
        assert catalog.count_pieces(kind="ware") == 20


@pytest.mark.parametrize(("size", "glaze"), [(PHONE, "Bracken"), (WIDE, "Shell white")], ids=["390", "1280"])
def test_twenty_bisqued_pieces_from_another_bucket(browser, address, home, size, glaze) -> None:
    """Not like the last: another bucket, other pieces, the foot not wiped; the load is warned of."""
    with Catalog.open(home) as catalog:
        catalog.bench.add_bucket(glaze, gravity=1.5)
        catalog.bench.make_pieces(20, stage="bisqued")
    with opened_page(browser, size) as page:
        go(page, address, "bench")
        begun, touches = time.monotonic(), 0
        page.get_by_role("combobox", name="Bucket", exact=False).first.click()
        page.get_by_role("option", name=glaze).click()
        settle(page)
        page.get_by_role("radio", name="no", exact=True).first.click()
        page.get_by_role("radio", name="Those bisqued").click()
        settle(page)
        page.get_by_role("button", name="Keep: 20 pieces glazed").first.click()
        touches += 5
        page.get_by_text("20 pieces kept as glazed").wait_for()
        print(f"\n{size[0]} px, another bucket: {touches} touches, {time.monotonic() - begun:.1f} s")
        page.get_by_text("The foot was not wiped").first.wait_for()
        settle(page)
        assert overflow_px(page) <= 0
    with Catalog.open(home) as catalog:
        done = catalog.bench.last_glazing()
        assert (done.layers[-1].name, done.foot_wiped, done.made) == (glaze, False, ())


def test_every_part_fits_a_phone_in_both_themes(browser, address) -> None:
    with opened_page(browser, PHONE) as page:
        go(page, address, "bench")
        for part in PARTS:
            page.get_by_role("radio", name=part, exact=True).click()
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)
                settle(page)
                assert overflow_px(page) <= 0, (part, scheme)
