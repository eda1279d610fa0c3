"""Unload in a real browser: a labelled board files itself, a killed reader is gone on with, pieces without a
label are told by number or drawn round, all on a phone too.

Photos are `sample_images` (renders with their truth beside them) and drawn ones (`tests.synthetic`).
"""

import os
import re
import signal
import time
from pathlib import Path

import psutil
import pytest
from PIL import Image

from catalog import pieces
from catalog.new_pieces import new_row
from catalog.records import Layer
from catalog.store import Catalog
from tests.app.conftest import BLUE, BROWN, jpeg, tile
from tests.browser.driving import (
    PHONE,
    WIDE,
    go,
    opened_page,
    overflow_px,
    served,
    settle,
)
from tests.synthetic import DrawnTile, Scene, draw_photo
from vision.reading import Calibration, CalibrationKind, PhotoReading

pytestmark = pytest.mark.browser

SAMPLES = Path(__file__).parents[2] / "sample_images"
BOARD = SAMPLES / "07-bracken-dark-stairs.jpg"
ON_THE_BOARD = ("T-0013", "T-0014", "T-0015")
"""Codes on its three labels, as 07-bracken-dark-stairs.json says."""
SLOW_MS = 180_000


def plan(catalog: Catalog, code: str, glaze: str, load_id: int) -> None:
    """A piece glazed and loaded, of which there is no photo yet."""
    with catalog.database.writing() as session:
        row = new_row(session, code, "tile", load_id=load_id)
        pieces.set_layers(session, row, [Layer(None, glaze, 2)])


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The labelled tiles are planned for October; November is newer."""
    with Catalog.open(tmp_path / "home") as catalog:
        october = catalog.add_load("Glaze firing 19 October")
        for code in ON_THE_BOARD:
            plan(catalog, code, "Bracken", october.id)
        catalog.add_load("Glaze firing 16 November")
    return tmp_path / "home"


@pytest.fixture
def address(home: Path):
    with served(home) as found:
        yield found
    for reader in readers(home):
        reader.terminate()


def readers(home: Path) -> list[psutil.Process]:
    """The programs that read photos of this catalogue."""
    found = []
    for process in psutil.process_iter(["cmdline"]):
        try:
            if "app.unload_worker" in (process.info["cmdline"] or ()) and (
                process.environ().get("GLOSTBOOK_HOME") == str(home)
            ):
                found.append(process)
        except psutil.Error:
            continue
    return found


def file_button(page):
    return page.get_by_role("button", name=re.compile(r"^File (all )?\d+ pieces?$"))


def test_a_labelled_board_is_filed_by_one_press_and_no_typed_word(browser, address, home) -> None:
    with opened_page(browser) as page:
        page.add_init_script("window.typed = 0; addEventListener('keydown', () => window.typed++, true)")
        go(page, address, "unload")
        page.locator('input[type="file"]').first.set_input_files([str(BOARD)])
        file_button(page).wait_for(timeout=SLOW_MS)
        settle(page)
        page.get_by_text("The labels in the photos say so").wait_for()
        file_button(page).click()
        page.get_by_text("Filed").first.wait_for()
        page.get_by_text(re.compile("T-0013, T-0014, T-0015")).first.wait_for()
        assert page.evaluate("window.typed") == 0
        with Catalog.open(home) as catalog:
            for code in ON_THE_BOARD:
                piece = catalog.piece(code)
                assert len(piece.readings) == 1
                assert piece.load.name == "Glaze firing 19 October", "the load of the labels, not the newest"
        page.get_by_role("button", name="Undo", exact=True).first.click()
        page.get_by_text(re.compile("^Undone: 3 pieces")).wait_for()
        with Catalog.open(home) as catalog:
            assert not any(reading for code in ON_THE_BOARD for reading in shown(catalog, code))
        file_button(page).click()
        page.get_by_text(re.compile("^Added a reading to 3 pieces|^Filed 3 pieces")).wait_for()
        with Catalog.open(home) as catalog:
            assert [len(shown(catalog, code)) for code in ON_THE_BOARD] == [1, 1, 1]


def shown(catalog: Catalog, code: str) -> list:
    return [reading for reading in catalog.piece(code).readings if not reading.superseded]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_a_killed_reader_and_a_closed_tab_lose_and_double_nothing(browser, address, home, tmp_path) -> None:
    photos = []
    for number in range(3):
        drawn = DrawnTile(140, 100, glaze_lab=(30 + 20 * number, 5, 10))
        photos.append(tmp_path / f"drawn-{number}.jpg")
        Image.fromarray(draw_photo(Scene(tiles=(drawn,), seed=number)).pixels).save(photos[-1], quality=92)
    with opened_page(browser) as page:
        go(page, address, "unload")
        page.locator('input[type="file"]').first.set_input_files([str(photo) for photo in photos])
        page.get_by_text("3 photos kept").wait_for()
    with Catalog.open(home) as catalog:
        (unloading,) = catalog.unloadings.list()
        until(lambda: catalog.unloadings.state(unloading.id).counts.get("in_hand"))
        (reader,) = readers(home)
        reader.send_signal(signal.SIGKILL)
        until(lambda: not reader.is_running() or reader.status() == psutil.STATUS_ZOMBIE)
        assert catalog.unloadings.state(unloading.id).to_read
        with opened_page(browser) as page:
            go(page, address, "unload")
            page.get_by_text(re.compile("Going on with the unloading")).wait_for()
            file_button(page).wait_for(timeout=SLOW_MS)
            until(lambda: not catalog.unloadings.state(unloading.id).to_read)
            settle(page)
            page.get_by_role("button", name="File all 3 pieces").click()
            page.get_by_text(re.compile("^Filed 3 pieces")).wait_for()
        assert catalog.unloadings.state(unloading.id).counts == {"filed": 3}
        kept = [piece.readings[0].photo_sha256 for piece in catalog.pieces() if piece.readings]
        assert len(kept) == len(set(kept)) == 3


def until(true, seconds: float = SLOW_MS / 1000) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end
        time.sleep(0.1)


@pytest.fixture
def unlabelled(home: Path) -> int:
    """A photo of two tiles without labels, read already; gives its number."""
    data = jpeg((90, 70, 60), (900, 1200), seed=3)
    reading = PhotoReading(
        "board.jpg", None, Calibration(CalibrationKind.CARD, 0.1, 1.0), (tile(BLUE), tile(BROWN))
    )
    with Catalog.open(home) as catalog:
        load = next(load for load in catalog.loads() if load.name == "Glaze firing 19 October")
        unloading = catalog.unloadings.begin(load.id)
        photo, _ = catalog.unloadings.take(unloading.id, data, "board.jpg")
        catalog.unloadings.claim("test")
        pictures = {"preview": data, "0": jpeg((70, 76, 100)), "1": jpeg((86, 56, 42))}
        said = [{"file": True, "code": None, "kind": "tile"} for _ in range(2)]
        catalog.unloadings.finish(photo.id, reading, pictures, said)
    return photo.id


def _codes(home, photo_id: int) -> list[str | None]:
    with Catalog.open(home) as catalog:
        return [row["code"] for row in catalog.unloadings.photo(photo_id).said]


def test_pieces_are_laid_on_what_they_are_by_mouse_and_by_keyboard(
    browser, address, home, unlabelled
) -> None:
    with opened_page(browser, WIDE) as page:
        go(page, address, "unload")
        page.get_by_role("button", name="Photo 1, piece 2").drag_to(page.get_by_role("button", name="T-0014"))
        page.locator(".loose button").nth(1).wait_for(state="detached")
        settle(page)
        assert _codes(home, unlabelled) == [None, "T-0014"]
        page.get_by_role("button", name="Photo 1, piece 1").focus()
        page.keyboard.press("Enter")
        page.get_by_text("Now choose what it is").wait_for()
        page.keyboard.press("Escape")
        page.get_by_text("Drag a piece onto what it is").wait_for()
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.get_by_role("heading", name="Which piece is which?").wait_for(state="detached")
        first = _codes(home, unlabelled)[0]
        assert first is not None
        assert first != "T-0014"


def test_on_a_phone_pieces_are_named_by_touch_or_number_and_drawn_round(
    browser, address, home, unlabelled
) -> None:
    with opened_page(browser, PHONE, "dark") as page:
        go(page, address, "unload")
        page.get_by_role("heading", name="Which piece is which?").wait_for()
        assert overflow_px(page) <= 0
        page.get_by_role("button", name="Photo 1, piece 2").click()
        page.get_by_role("button", name="T-0014").click()
        page.locator(".loose button").nth(1).wait_for(state="detached")
        settle(page)
        assert _codes(home, unlabelled) == [None, "T-0014"]
        with Catalog.open(home) as catalog:
            said = [{**row, "code": None} for row in catalog.unloadings.photo(unlabelled).said]
            catalog.unloadings.say(unlabelled, said)
        go(page, address, "unload")
        page.get_by_text("By number").click()
        settle(page)
        box = page.get_by_role("combobox", name=re.compile("piece 2"))
        box.scroll_into_view_if_needed()  # a list folds up again while the page scrolls
        settle(page)
        box.click()
        page.get_by_role("option", name="3 · T-0015").click()
        settle(page)
        assert _codes(home, unlabelled) == [None, "T-0015"]
        with Catalog.open(home) as catalog:
            catalog.unloadings.set_stopped(catalog.unloadings.list()[0].id, True)

        page.get_by_role("button", name="Draw on it").first.click()
        sheet = page.get_by_role("application", name=re.compile("^board.jpg"))
        sheet.wait_for()
        settle(page)
        wide, high = sheet.bounding_box()["width"], sheet.bounding_box()["height"]
        for x, y in ((0.25, 0.25), (0.75, 0.25), (0.75, 0.5), (0.25, 0.5)):
            sheet.click(position={"x": x * wide, "y": y * high})
        page.get_by_text("4 corners, as a flat tile has.").wait_for()
        assert overflow_px(page) <= 0
        page.get_by_role("button", name="Use this outline").click()
        page.get_by_text("Stopped.").wait_for()
        with Catalog.open(home) as catalog:
            photo = catalog.unloadings.photo(unlabelled)
        assert photo.state == "waiting"
        for corner, wanted in zip(
            photo.outlines["new1"], ((225, 300), (674, 300), (674, 600), (225, 600)), strict=True
        ):
            assert corner == pytest.approx(wanted, abs=4), "pixels of the photo, 900 by 1200"
        assert overflow_px(page) <= 0
