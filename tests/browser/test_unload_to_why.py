"""The whole way in a real browser: photos in, filed, found by colour, asked why; wide and on a phone.

Drives Debian's chromium through its own server on a free port, with a catalogue of its own. Skipped where
there is no chromium, unless CI is set: there it fails.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from catalog.records import ConeResult
from catalog.store import Catalog
from tests.browser.driving import PHONE, WIDE, go, opened_page, overflow_px, served, settle

pytestmark = pytest.mark.browser

SAMPLES = Path(__file__).parents[2] / "sample_images"
PHOTOS = ("07-bracken-dark-stairs.jpg", "01-slate-white-stairs.jpg")
CHANGED = ("unload", "shelf", "why")
"""Views that show what was filed; the others fit a phone in test_every_view."""
CODE = re.compile(r"^[A-Z]-\d{4}$")
PATIENCE_MS = 120_000


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with its clays, glazes and a load whose top cone went two over; no piece is filed."""
    for name in PHOTOS:
        if not (SAMPLES / name).is_file():
            pytest.skip(f"sample_images/{name} is not there")
    home = tmp_path_factory.mktemp("browser") / "home"
    with Catalog.open(home) as catalog:
        catalog.add_body("Dark stoneware", "dark_stoneware", rated_cone="5")
        catalog.add_load(
            "Glaze firing 19 October",
            kiln="Small electric kiln",
            cone_aimed="6",
            cones=[ConeResult("top", "8"), ConeResult("middle", "7")],
        )
    return home


@pytest.fixture(scope="module")
def address(home: Path) -> Iterator[str]:
    with served(home) as found:
        yield found


@pytest.fixture
def page(browser, request: pytest.FixtureRequest):
    with opened_page(browser, getattr(request, "param", WIDE)) as opened:
        opened.set_default_timeout(PATIENCE_MS)
        yield opened


def choose(page, label: str, option: str, *, last: bool = False) -> None:
    boxes = page.get_by_role("combobox", name=re.compile(rf"(^|\s|\.){re.escape(label)}"))
    box = boxes.last if last else boxes.first
    box.click()
    box.fill(option)
    page.get_by_role("option", name=re.compile(re.escape(option))).first.click()
    settle(page)


def first_codes(slots) -> list[str]:
    """The codes of the first three pieces shown."""
    return [
        slots.nth(i).get_by_role("button", name=CODE).get_attribute("data-code")
        for i in range(min(3, slots.count()))
    ]


def test_photos_become_filed_tiles_found_by_colour_and_explained(page, address: str, home: Path) -> None:
    go(page, address, "unload")
    page.locator('input[type="file"]').first.set_input_files([str(SAMPLES / name) for name in PHOTOS])
    file_all = page.get_by_role("button", name=re.compile(r"^File all \d+ pieces"))
    file_all.wait_for()
    settle(page)
    assert page.get_by_text("Photo 1", exact=False).count() >= 1
    choose(page, "Clay body", "Dark stoneware")
    choose(page, "Shelf", "top")
    page.get_by_role("button", name="Put in for all").click()
    settle(page)
    file_all.click()
    page.get_by_text(re.compile(r"^Filed \d+ pieces: T-0013")).wait_for()
    with Catalog.open(home) as catalog:
        pieces = catalog.pieces(order="code")
        assert {"T-0013", "T-0014", "T-0015"} <= {piece.code for piece in pieces}, "the labels gave the codes"
        blistered = catalog.piece("T-0015")
        wanted = blistered.readings[0].tile.glaze.lab
    assert blistered.shelf == "top"

    go(page, address, "match")
    page.get_by_text("Type it", exact=True).click()
    settle(page)
    for label, value in (("L*", wanted.lightness), ("a*", wanted.a_star), ("b*", wanted.b_star)):
        field = page.get_by_label(re.compile(rf"^{re.escape(label)}")).first
        field.fill(f"{value:.1f}")
        field.press("Enter")
        settle(page)
    slots = page.locator(".board .slot")
    codes = first_codes(slots)
    assert "T-0015" in codes
    assert "away: not visible" in slots.first.inner_text()

    slots.nth(codes.index("T-0015")).get_by_role("button", name="T-0015", exact=True).click()
    page.get_by_role("heading", name="T-0015").wait_for()
    page.get_by_role("button", name="Ask why").click()
    page.get_by_role("heading", name="Likely causes").wait_for()
    settle(page)
    choose(page, "Fault", "blisters")
    evidence = page.get_by_text(re.compile(r"witness cone on the top shelf reached cone 8"))
    evidence.first.wait_for(state="attached")
    over = page.locator(".gb-cause", has_text="Glaze fired past its range").first
    before = int(over.locator(".gb-share").text_content())

    choose(page, "Top shelf", "5.5")
    page.get_by_text(re.compile("Since you changed the record")).wait_for()
    assert int(over.locator(".gb-share").text_content()) < before
    with Catalog.open(home) as catalog:
        assert {c.shelf: c.cone for c in catalog.piece("T-0015").load.cones}["top"] == "5.5"

    page.get_by_role("heading", name="Next question").wait_for()
    answers = page.get_by_role("radiogroup", name=re.compile("^Your answer")).first
    answers.get_by_role("radio").first.click()
    page.get_by_text(re.compile("^You said: ")).first.wait_for()
    with Catalog.open(home) as catalog:
        assert catalog.casebook.answers(catalog.piece("T-0015")), "the answer is kept with the piece"


def test_a_click_on_a_filed_tile_gives_its_colour(page, address: str, home: Path) -> None:
    with Catalog.open(home) as catalog:
        assert catalog.count_pieces(), "the way before this filed some"
    go(page, address, "match")
    page.get_by_text("Click on a filed tile", exact=True).click()
    settle(page)
    choose(page, "Tile", "T-0001")
    picture = page.get_by_role("application", name=re.compile("straightened picture of T-0001"))
    picture.wait_for()
    box = picture.bounding_box()
    assert box is not None
    picture.click(position={"x": box["width"] / 2, "y": box["height"] / 3})
    slots = page.locator(".board .slot")
    slots.first.wait_for()
    settle(page)
    nearest = first_codes(slots)
    assert set(nearest) & {"T-0001", "T-0002", "T-0003"}, nearest


@pytest.mark.parametrize("page", [PHONE], indirect=True)
def test_no_view_scrolls_sideways_on_a_phone(page, address: str) -> None:
    for view in CHANGED:
        go(page, address, view)
        assert overflow_px(page) <= 0, view
    go(page, address, "shelf")
    page.locator(".board .slot").first.get_by_role("button", name=CODE).click()
    page.get_by_role("heading", name="What was seen").wait_for()
    settle(page)
    assert overflow_px(page) <= 0, "one piece"
