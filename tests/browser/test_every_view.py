"""Every view in a real browser: axe-core, no sideways scroll, both themes; sheets measured.

By default on six made-up pieces. ``GLOSTBOOK_SAMPLE_STUDIO`` names a folder that ``glostbook demo`` filled,
to run on that; a copy is used. axe-core comes from npm (``npm install axe-core``); ``GLOSTBOOK_AXE`` names
its ``axe.min.js``. Without it those tests are skipped and say so.
"""

import os
import shutil
from pathlib import Path

import pytest

from catalog.records import PieceDraft
from catalog.store import Catalog
from tests.app.conftest import BLUE, fill, jpeg, tile
from tests.app.pdf_measure import boxes, pages, rule_mm, size_mm
from tests.browser.driving import PHONE, WIDE, go, opened_browser, opened_page, overflow_px, served, settle
from vision.reading import Calibration, CalibrationKind, PhotoReading

pytestmark = pytest.mark.browser

SHEETS = ("Reference card", "Labels", "Bucket labels", "Care notes", "Reports", "Trial sheet")
BLOCKING = ("serious", "critical")
LEFT_BY_STREAMLIT: dict[str, str] = {}
"""Faults of the widgets that neither option nor style sheet can mend: rule id, and why. None now."""


def _with_ware(home: Path) -> None:
    """Make sure that there is a mug, a planned trial and somebody who has a piece."""
    with Catalog.open(home) as catalog:
        if not catalog.count_pieces():
            fill(catalog)
            catalog.add_body("Buff")
            load = catalog.loads()[0]
            data = jpeg((84, 90, 122), seed=77)
            reading = PhotoReading(
                "mug.jpg", None, Calibration(CalibrationKind.CARD, 1 / 6, 1.3), (tile(BLUE),)
            )
            draft = PieceDraft(
                0, "W-0001", "ware", catalog.bodies()[0].id, catalog.piece("T-0001").layers, "top"
            )
            catalog.file_photo(data, reading, [draft], load.id, {0: data})
        faulty = catalog.pieces(faulty=True, limit=1)[0]
        from catalog.casebook.case import case_of

        case = case_of(catalog, faulty.code)
        if case.diagnosis.next_trials:
            catalog.casebook.plan_trial(faulty.code, case.diagnosis, case.diagnosis.next_trials[0].about)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("views") / "home"
    sample = os.environ.get("GLOSTBOOK_SAMPLE_STUDIO")
    if sample:
        shutil.copytree(sample, place)
    _with_ware(place)
    return place


@pytest.fixture(scope="module")
def paths(home: Path) -> list[str]:
    """Every view, and the pages inside them that have an address."""
    with Catalog.open(home) as catalog:
        mug = catalog.pieces(kind="ware", limit=1)[0].code
        faulty = catalog.pieces(faulty=True, limit=1)[0].code
    views = sorted(
        path.stem for path in Path("app/views").glob("*.py") if path.stem not in ("__init__", "start")
    )
    sheets = [f"print?sheet={sheet.replace(' ', '+')}" for sheet in SHEETS]
    return [*views, f"shelf?piece={faulty}", f"ware?ware={mug}", *sheets]


@pytest.fixture(scope="module")
def address(home: Path):
    with served(home) as found:
        yield found


@pytest.fixture(scope="module")
def browser():
    with opened_browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def axe() -> str:
    named = os.environ.get("GLOSTBOOK_AXE")
    if not named or not Path(named).is_file():
        pytest.skip("axe-core is not here: npm install axe-core, then GLOSTBOOK_AXE=.../axe.min.js")
    return Path(named).read_text(encoding="utf-8")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious_on_any_view(browser, address, paths, axe, scheme: str) -> None:
    found = []
    with opened_page(browser, WIDE, scheme) as page:
        for path in paths:
            go(page, address, path)
            page.evaluate(axe)
            result = page.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
            found += [
                f"{path}: {fault['id']} ({fault['impact']}): {fault['nodes'][0]['html'][:200]}"
                for fault in result["violations"]
                if fault["impact"] in BLOCKING and fault["id"] not in LEFT_BY_STREAMLIT
            ]
    assert not found, "\n".join(found)


def test_no_view_scrolls_sideways_on_a_phone(browser, address, paths) -> None:
    """In the dark theme; `test_unload_to_why` does the same in the light one."""
    with opened_page(browser, PHONE, "dark") as page:
        wide = []
        for path in paths:
            go(page, address, path)
            if overflow_px(page) > 0:
                wide.append(path)
        assert not wide


def test_both_themes_have_their_own_ground_and_letters(browser, address) -> None:
    grounds = {}
    for scheme in ("light", "dark"):
        with opened_page(browser, WIDE, scheme) as page:
            go(page, address, "print")
            grounds[scheme] = page.evaluate(
                """() => [getComputedStyle(document.querySelector('[data-testid="stApp"]')).backgroundColor,
                getComputedStyle(document.querySelector('h1')).color]"""
            )
    assert grounds["light"] == ["rgb(235, 233, 229)", "rgb(41, 38, 34)"]
    assert grounds["dark"] == ["rgb(35, 33, 32)", "rgb(235, 231, 225)"]


def _file_of(page) -> bytes:
    with page.expect_download() as waited:
        page.get_by_role("button", name="PDF").last.click()
    return Path(waited.value.path()).read_bytes()


@pytest.mark.parametrize("sheet", SHEETS)
def test_each_sheet_comes_out_of_the_browser_true(browser, address, sheet: str) -> None:
    """Pages are A4 (ISO 216); the sheet's own rule is 100 mm, so all else on it is true."""
    with opened_page(browser) as page:
        go(page, address, f"print?sheet={sheet.replace(' ', '+')}")
        if sheet == "Reports":
            page.get_by_role("textbox", name="Codes or words").fill("T-0001")
            page.keyboard.press("Enter")
            settle(page)
            page.get_by_role("button", name="Make the report").click()
            settle(page)
        first = pages(_file_of(page))[0]
    assert size_mm(first) == pytest.approx((210, 297), abs=0.05)
    if sheet == "Reference card":
        assert max(box.width for box in boxes(first)) == pytest.approx(100, abs=0.1)
    else:
        assert rule_mm(first) == [pytest.approx(100, abs=0.05)]


def test_who_has_a_mug_is_kept_found_and_erased(browser, address, home, paths) -> None:
    path = next(path for path in paths if path.startswith("ware?"))
    code = path.split("=")[1]
    with opened_page(browser) as page:
        go(page, address, path)
        page.get_by_role("textbox", name="Person or shop").fill("Ζωή, market stall")
        page.get_by_role("button", name="Keep who has it").click()
        page.get_by_role("button", name="Erase who has it").wait_for()
        with Catalog.open(home) as catalog:
            assert catalog.ware.holders()[code].holder == "Ζωή, market stall"
        go(page, address, "ware")
        page.get_by_role("radio", name="With somebody").click()
        settle(page)
        page.get_by_text("Ζωή, market stall").wait_for()
        go(page, address, path)
        page.get_by_role("button", name="Erase who has it").click()
        settle(page)
        with Catalog.open(home) as catalog:
            assert code not in catalog.ware.holders()


def test_units_and_sheet_choices_outlive_a_change_of_view(browser, address) -> None:
    with opened_page(browser) as page:
        go(page, address, "studio")
        page.get_by_role("radio", name="°F").click()
        settle(page)
        page.get_by_role("link", name="Firings").click()
        page.get_by_role("heading", name="Firings", exact=True).wait_for()
        settle(page)
        page.get_by_text("Figures of the plan").first.click()
        page.get_by_text("°F after").first.wait_for()
        page.get_by_role("link", name="Studio").click()
        page.get_by_role("heading", name="Studio", exact=True).wait_for()
        settle(page)
        assert page.get_by_role("radio", name="°F").get_attribute("aria-checked") == "true"
        page.get_by_role("radio", name="°C").click()
        settle(page)


def test_the_keyboard_alone_reaches_a_sheet(browser, address) -> None:
    with opened_page(browser) as page:
        go(page, address, "print")
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("() => document.activeElement.innerText || ''").startswith("Card A6"):
                break
        else:
            pytest.fail("60 presses of Tab did not reach the card's button")
        with page.expect_download() as waited:
            page.keyboard.press("Enter")
        assert waited.value.suggested_filename == "glostbook-card-A6.pdf"
