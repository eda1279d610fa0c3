"""The Shelf in a real browser: filters that live in the address, sorting, comparing, zooming with layers."""

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import parse_qs, urlparse

import pytest

from tests.app.conftest import fill
from tests.browser.driving import PHONE, WIDE, go, opened_page, overflow_px, served, settle

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def address(tmp_path_factory) -> Iterator[str]:
    from catalog.store import Catalog

    home = tmp_path_factory.mktemp("shelf") / "home"
    with Catalog.open(home) as catalog:
        fill(catalog)
    with served(home) as found:
        yield found


def codes(page) -> list[str]:
    page.locator(".board .slot").first.wait_for()
    names = page.locator(".board button").evaluate_all("found => found.map(b => b.dataset.code)")
    return [name for name in names if name]


def choose(page, label: str, option: str) -> None:
    page.get_by_role("combobox", name=re.compile(label)).click()
    page.get_by_role("option", name=option, exact=True).click()
    settle(page)


def query(page) -> dict[str, list[str]]:
    return parse_qs(urlparse(page.url).query)


def test_filters_stand_in_the_address_and_come_back_from_it(browser, address) -> None:
    with opened_page(browser) as page:
        go(page, address, "shelf")
        assert len(codes(page)) == 6
        choose(page, "Fault", "blistered")
        choose(page, "Sorted by", "Newest")
        assert codes(page) == ["T-0006", "T-0005"]
        assert query(page)["fault"] == ["blistered"]
        shared = page.url
    with opened_page(browser) as page:
        page.goto(shared)
        page.get_by_role("heading", name="Shelf", exact=True).wait_for()
        settle(page)
        assert codes(page) == ["T-0006", "T-0005"]


def test_filters_outlive_a_piece_opened_and_a_change_of_view(browser, address) -> None:
    with opened_page(browser) as page:
        go(page, address, "shelf")
        choose(page, "Fault", "blistered")
        page.get_by_role("button", name="T-0006", exact=True).click()
        page.get_by_role("heading", name="T-0006").wait_for()
        settle(page)
        page.get_by_role("button", name="All pieces").click()
        page.get_by_role("heading", name="Shelf", exact=True).wait_for()
        settle(page)
        assert codes(page) == ["T-0005", "T-0006"]
        page.get_by_role("button", name="T-0006", exact=True).click()
        page.get_by_role("button", name="Ask why").click()
        page.get_by_role("heading", name="Why", exact=True).wait_for()


@pytest.mark.parametrize("size", [WIDE, PHONE], ids=["wide", "phone"])
def test_two_pieces_are_chosen_and_stand_side_by_side(browser, address, size) -> None:
    with opened_page(browser, size) as page:
        go(page, address, "shelf?sort=Newest")
        page.get_by_text("Choose some to compare").click()
        settle(page)
        for code in ("T-0001", "T-0005"):
            page.get_by_role("button", name=code, exact=True).click()
            settle(page)
        page.get_by_role("button", name="Compare these 2").click()
        page.get_by_role("heading", name="Side by side").wait_for()
        settle(page)
        assert query(page)["compare"] == ["T-0001,T-0005"]
        page.get_by_text("Witness cone there").wait_for()
        assert overflow_px(page) <= 0


def test_a_piece_is_zoomed_and_its_marks_are_switched(browser, address) -> None:
    with opened_page(browser) as page:
        go(page, address, "shelf?piece=T-0006")
        pane = page.locator(".pane")
        pane.wait_for()
        assert pane.get_attribute("data-scale") == "1.00"
        page.get_by_role("button", name="Nearer").click()
        page.get_by_role("button", name="Nearer").click()
        assert pane.get_attribute("data-scale") == "2.56"
        pane.press("0")
        assert pane.get_attribute("data-scale") == "1.00"
        rings = page.locator(".sheet svg")
        assert rings.count() == 1
        assert page.locator(".sheet svg circle").count() == 2 * 36  # each ring on its white hair
        page.get_by_role("checkbox", name="36 blisters").uncheck()
        assert not rings.first.is_visible()


def test_the_glazed_face_waits_until_it_is_asked_for(browser, address) -> None:
    """The photo kept by conftest is a plain picture of one colour, read again as a close-up or a tile."""
    with opened_page(browser) as page:
        go(page, address, "shelf?piece=T-0001")
        page.get_by_text("Draw craze lines, bare patches").click()
        box = page.get_by_role("checkbox", name="glazed face")
        box.wait_for()
        layer = page.locator(".sheet img.layer").first
        assert not box.is_checked()
        assert not layer.is_visible()
        box.check()
        assert layer.is_visible()


def test_the_keyboard_opens_a_piece(browser, address) -> None:
    with opened_page(browser) as page:
        go(page, address, "shelf")
        page.get_by_role("button", name="T-0002", exact=True).focus()
        page.keyboard.press("Enter")
        page.get_by_role("heading", name="T-0002").wait_for()
        settle(page)
        assert query(page)["piece"] == ["T-0002"]
        assert page.locator(".pane img").first.get_attribute("alt") == "T-0002: Slate blue on Dark stoneware"


def test_the_shelf_fits_a_phone(browser, address, tmp_path: Path) -> None:
    with opened_page(browser, PHONE, "dark") as page:
        for path in (
            "shelf",
            "shelf?piece=T-0006",
            "shelf?compare=T-0001,T-0002,T-0003,T-0004,T-0005,T-0006",
        ):
            go(page, address, path)
            assert overflow_px(page) <= 0, path
