"""Sheets measured in the PDF by pdfium, and their codes read back by our own reader."""

import pytest

from app.sheets.card import CARD_SIZES, card_origin_mm, card_pdf
from app.sheets.care_note import NOTE_MM, CareNote, care_notes_pdf, note_origin_mm
from app.sheets.labels import GRIDS, Label, label_grid, labels_pdf
from app.sheets.lettering import uncovered, visual
from app.sheets.report import PICTURE_LEFT_MM, PICTURE_TOP_MM, PieceReport, reports_pdf
from app.sheets.trial_sheet import TrialSheet, strips_grid, trial_pdf
from tests.app.pdf_measure import boxes, pages, pictures, pixels, rule_mm, size_mm, text
from vision.labels import find_labels
from vision.settings import LabelSettings

PAPER_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1, 8.5 by 11 in
WITHIN_MM = 0.1
NAMES = ("Łódź ž ő ñ", "Σμάλτο γκρι", "Глазурь синяя", "זיגוג כחול", "青い釉薬")


def many(count: int) -> list[Label]:
    return [Label(f"T-{n:04d}", ("Slate blue", "White stoneware")) for n in range(1, count + 1)]


@pytest.mark.parametrize("name", GRIDS)
def test_labels_stand_where_the_grid_says(name: str) -> None:
    grid = GRIDS[name]
    page = pages(labels_pdf(many(grid.per_page), grid, borders=True))[0]
    assert size_mm(page) == pytest.approx(PAPER_MM[grid.paper], abs=0.01)
    edges = [
        b for b in boxes(page) if abs(b.width - grid.width_mm) < 0.3 and abs(b.height - grid.height_mm) < 0.3
    ]
    assert len(edges) == grid.columns * grid.rows
    for number, box in enumerate(edges):
        row, column = divmod(number, grid.columns)
        left = grid.left_mm + column * grid.step_x_mm
        top = grid.top_mm + row * grid.step_y_mm
        assert box.left == pytest.approx(left, abs=WITHIN_MM)
        assert box.top == pytest.approx(top, abs=WITHIN_MM)
        assert box.width == pytest.approx(grid.width_mm, abs=WITHIN_MM)
        assert box.height == pytest.approx(grid.height_mm, abs=WITHIN_MM)
    inside = [b for b in boxes(page) if b.left < 0 or b.top < 0 or b.right > PAPER_MM[grid.paper][0] + 0.01]
    assert not inside


@pytest.mark.parametrize("name", ["tile strips", "A4, 3 × 7", "A4, 4 × 10", "Letter, 3 × 10"])
def test_every_label_is_read_back_from_a_photo_of_the_sheet(name: str) -> None:
    """At 8 px per mm: a whole A4 sheet in a frame of 4 million pixels, well under a phone's 12."""
    grid = GRIDS[name]
    wanted = many(grid.per_page)
    page = pages(labels_pdf(wanted, grid))[0]
    found = find_labels(pixels(page, 8.0), LabelSettings())
    assert sorted(label.text for label in found) == [label.code for label in wanted]


def test_a_begun_sheet_goes_on_where_it_was_left() -> None:
    grid = GRIDS["A4, 3 × 8"]
    document = pages(labels_pdf(many(25), grid, first=5))
    assert len(document) == 2
    first = find_labels(pixels(document[0], 8.0), LabelSettings())
    top_left = min(first, key=lambda label: (label.corners_px[0][1] // 100, label.corners_px[0][0]))
    x, y = grid.origin_mm(5)
    assert top_left.text == "T-0001"
    assert x < top_left.corners_px[0][0] / 8 < x + grid.width_mm
    assert y < top_left.corners_px[0][1] / 8 < y + grid.height_mm


def test_a_grid_that_does_not_fit_is_refused() -> None:
    with pytest.raises(ValueError, match="210 × 297"):
        label_grid("A4", 4, 8, 60.0, 30.0)
    with pytest.raises(ValueError, match="at least"):
        label_grid("A4", 4, 8, 10.0, 10.0)
    with pytest.raises(ValueError, match="not on a sheet"):
        labels_pdf(many(1), GRIDS["A4, 2 × 4"], first=8)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_sheet_of_our_own_paper_carries_a_true_check_rule(paper: str) -> None:
    strips = GRIDS["tile strips" if paper == "A4" else "tile strips, Letter"]
    trial = TrialSheet(
        "Trial 3: Split the coat.", "About T-0005.", (("Make", "two tiles"),), (("T-1", "thin", "x"),)
    )
    for pdf in (
        labels_pdf(many(3), strips),
        care_notes_pdf([NOTE], paper),
        reports_pdf([PieceReport("T-0001", "Tile")], paper),
        trial_pdf(trial, paper),
    ):
        page = pages(pdf)[0]
        assert size_mm(page) == pytest.approx(PAPER_MM[paper], abs=0.01)
        assert rule_mm(page) == [pytest.approx(100.0, abs=0.05)]


@pytest.mark.parametrize("size", CARD_SIZES)
def test_the_card_measures_true_by_another_reader_too(size: str) -> None:
    """The outer edges of the four corner squares, as pdfium draws them: card edge within 0.1 mm."""
    layout = CARD_SIZES[size]
    page = pages(card_pdf(size))[0]
    x, y = card_origin_mm(layout)
    rects = layout.marker_rects()
    dark = [b for b in boxes(page) if abs(b.height - layout.marker_mm / 6) < 0.05]
    assert min(b.left for b in dark) - x == pytest.approx(min(r.x_mm for r in rects), abs=WITHIN_MM)
    assert min(b.top for b in dark) - y == pytest.approx(min(r.y_mm for r in rects), abs=WITHIN_MM)
    far = max(r.x_mm + r.width_mm for r in rects)
    assert max(b.right for b in dark) - x == pytest.approx(far, abs=WITHIN_MM)


NOTE = CareNote(
    "P-0007",
    "Cup or mug: Slate blue on White stoneware",
    "Fired on 19 October 2026",
    "Not for food or drink until tested by an accredited laboratory.",
    "Send finished ware to an accredited laboratory.",
    "Studio by the water",
)


def test_care_notes_stand_true_and_promise_nothing() -> None:
    page = pages(care_notes_pdf([NOTE] * 4))[0]
    edges = [b for b in boxes(page) if abs(b.width - NOTE_MM[0]) < 0.3 and abs(b.height - NOTE_MM[1]) < 0.3]
    assert len(edges) == 4
    for number, box in enumerate(edges):
        x, y = note_origin_mm("A4", number)
        assert (box.left, box.top) == pytest.approx((x, y), abs=WITHIN_MM)
    words = " ".join(text(page).split())
    assert "until tested by an accredited laboratory" in words
    assert "P-0007" in words
    for promise in ("food safe", "is safe", "dishwasher safe", "oven safe"):
        assert promise not in words.lower()
    assert {x.text for x in find_labels(pixels(page, 8.0), LabelSettings())} == {"P-0007"}


def test_the_picture_of_a_report_has_the_tiles_true_size() -> None:
    from io import BytesIO

    from PIL import Image

    out = BytesIO()
    Image.new("RGB", (300, 558), (70, 80, 110)).save(out, format="JPEG")
    report = PieceReport("T-0001", "Tile: Slate blue", out.getvalue(), 1 / 6, (("#46506e", 1.0),))
    page = pages(reports_pdf([report]))[0]
    (picture,) = pictures(page)
    assert picture.width == pytest.approx(50.0, abs=WITHIN_MM)
    assert picture.height == pytest.approx(93.0, abs=WITHIN_MM)
    assert (picture.left, picture.top) == pytest.approx((PICTURE_LEFT_MM, PICTURE_TOP_MM), abs=WITHIN_MM)
    assert "At true size." in text(page)
    unscaled = pages(reports_pdf([PieceReport("T-0001", "Tile", out.getvalue())]))[0]
    assert "Not to scale" in text(unscaled)


def test_a_trial_sheet_has_a_strip_for_each_tile() -> None:
    tiles = tuple((f"T-{n:04d}", f"coat {n}", "shows it") for n in range(1, 6))
    page = pages(trial_pdf(TrialSheet("Trial 1: Split the coat.", "About T-0100.", (), tiles)))[0]
    grid = strips_grid("A4", 5)
    found = {label.text: label for label in find_labels(pixels(page, 8.0), LabelSettings())}
    assert sorted(found) == [code for code, _, _ in tiles]
    for number, (code, _, _) in enumerate(tiles):
        x, y = grid.origin_mm(number)
        at_x, at_y = found[code].corners_px[0] / 8
        assert x < at_x < x + grid.width_mm / 2
        assert y < at_y < y + grid.height_mm


@pytest.mark.parametrize("name", NAMES)
def test_a_name_in_any_alphabet_stands_on_the_label_embedded(name: str) -> None:
    pdf = labels_pdf([Label("T-0001", (name,))], GRIDS["A4, 2 × 4"])
    page = pages(pdf)[0]
    assert not uncovered(name)
    letters = set(text(page)) - set("T-0001mustmeasure mm: print at 100 %\r\n")
    assert set(name) - {" "} <= letters | set(text(page))
    assert b"/FontFile2" in pdf  # ISO 32000-1, 9.9: the font's own outlines travel with the file
    assert b"/Helvetica" not in pdf or pdf.count(b"/FontFile2") >= 2


def test_arabic_letters_join_and_run_from_the_right() -> None:
    """Forms of Unicode's Arabic Presentation Forms-B: seen initial, lam-alef final, meem isolated."""
    assert visual("سلام") == "ﻡﻼﺳ"
    assert not uncovered("سلام زجاج")


def test_korean_is_left_to_the_readers_own_font_where_this_computer_has_none() -> None:
    pdf = labels_pdf([Label("T-0001", ("유약",))], GRIDS["A4, 2 × 4"])
    assert not uncovered("유약")
    assert "유약" in text(pages(pdf)[0])


def test_what_no_font_covers_is_told() -> None:
    assert uncovered("Slate \U000f0000") == "\U000f0000"


def test_the_same_sheet_is_the_same_file() -> None:
    assert care_notes_pdf([NOTE]) == care_notes_pdf([NOTE])
