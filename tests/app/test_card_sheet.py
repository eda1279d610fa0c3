"""The printed card, measured in the PDF itself: 1 PDF unit is 1/72 inch (ISO 32000-1, 8.3.2.3)."""

import re

import cv2
import numpy as np
import pytest

from app.sheets.card import CARD_SIZES, card_origin_mm, card_pdf

MM = 25.4 / 72
TRIM_MM = {"A6": (148.0, 105.0), "A5": (210.0, 148.0)}  # ISO 216


def content(pdf: bytes) -> tuple[tuple[float, float], str]:
    """Page size in mm and the page's drawing operators (the file is written uncompressed)."""
    box = re.search(rb"/MediaBox \[ ([\d. ]+) \]", pdf)
    assert box is not None
    x0, y0, x1, y1 = (float(v) for v in box.group(1).split())
    assert (x0, y0) == (0, 0)
    stream = re.search(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL)
    assert stream is not None
    return (x1 * MM, y1 * MM), re.sub(r"BT .*? ET", "", stream.group(1).decode("latin-1"))


def drawn(size: str):
    """Filled rectangles (left, top, right, low, grey) and lines (x0, y0, x1, y1), mm from the top left."""
    (width, height), operators = content(card_pdf(size))
    rects, lines, grey, start = [], [], 0.0, (0.0, 0.0)
    pending = None
    for line in operators.splitlines():
        for match in re.finditer(r"((?:-?[\d.]+ )*)([a-zA-Z*]+)(?=\s|$)", line):
            numbers = [float(v) for v in match.group(1).split()]
            op = match.group(2)
            if op == "cm":
                assert numbers == [1, 0, 0, 1, 0, 0], "nothing may scale or turn the sheet"
            elif op == "g":
                grey = numbers[0]
            elif op == "re":
                x, y, w, h = (v * MM for v in numbers)
                pending = (x, height - y - h, x + w, height - y, grey)
            elif op in ("f", "f*") and pending is not None:
                rects.append(pending)
                pending = None
            elif op == "n":
                pending = None
            elif op == "m":
                start = (numbers[0] * MM, height - numbers[1] * MM)
            elif op == "l":
                lines.append((*start, numbers[0] * MM, height - numbers[1] * MM))
    return (width, height), rects, lines


@pytest.mark.parametrize("size", ["A6", "A5"])
def test_cutting_marks_stand_at_the_trimmed_size(size: str) -> None:
    _, _, lines = drawn(size)
    left, top = card_origin_mm(CARD_SIZES[size])
    outside = [ln for ln in lines if ln[1] < top or ln[3] < top]
    xs = sorted({round(ln[0], 4) for ln in outside if abs(ln[0] - ln[2]) < 1e-6})
    assert xs[0] == pytest.approx(left, abs=0.1)
    assert xs[-1] - xs[0] == pytest.approx(TRIM_MM[size][0], abs=0.1)
    beside = [ln for ln in lines if ln[0] < left and ln[2] < left]
    ys = sorted({round(ln[1], 4) for ln in beside})
    assert ys[0] == pytest.approx(top, abs=0.1)
    assert ys[-1] - ys[0] == pytest.approx(TRIM_MM[size][1], abs=0.1)


@pytest.mark.parametrize("size", ["A6", "A5"])
def test_the_page_is_a4_and_holds_everything(size: str) -> None:
    (width, height), rects, lines = drawn(size)
    assert sorted((width, height)) == pytest.approx([210, 297], abs=0.1)  # ISO 216 A4
    edge = 5.0  # common practice, no source: office printers leave about 4 to 5 mm unprinted
    for x0, y0, x1, y1 in [r[:4] for r in rects] + lines:
        assert edge <= min(x0, x1)
        assert max(x0, x1) <= width - edge
        assert edge <= min(y0, y1)
        assert max(y0, y1) <= height - edge


@pytest.mark.parametrize("size", ["A6", "A5"])
def test_markers_on_the_sheet_are_found_where_the_layout_says(size: str) -> None:
    """The sheet's own rectangles, painted at 10 px per mm, through OpenCV's marker detector."""
    (width, height), rects, _ = drawn(size)
    scale = 10
    page = np.full((round(height * scale), round(width * scale)), 255, np.uint8)
    for x0, y0, x1, y1, grey in rects:
        page[round(y0 * scale) : round(y1 * scale), round(x0 * scale) : round(x1 * scale)] = round(255 * grey)
    corners, ids, _ = cv2.aruco.ArucoDetector(
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    ).detectMarkers(page)
    assert ids is not None
    layout = CARD_SIZES[size]
    left, top = card_origin_mm(layout)
    found = {int(i): c.reshape(4, 2) / scale for i, c in zip(ids.ravel(), corners, strict=True)}
    assert sorted(found) == sorted(layout.marker_ids)
    for marker_id, rect in zip(layout.marker_ids, layout.marker_rects(), strict=True):
        x, y, s = left + rect.x_mm, top + rect.y_mm, rect.width_mm
        wanted = np.array([[x, y], [x + s, y], [x + s, y + s], [x, y + s]])
        # the detector's corner is the centre of the last dark pixel, half a pixel inside the edge
        assert np.abs(found[marker_id] - wanted).max() <= 0.1 + 0.5 / scale


@pytest.mark.parametrize("size", ["A6", "A5"])
def test_the_check_rule_is_100_mm_long(size: str) -> None:
    _, _, lines = drawn(size)
    layout = CARD_SIZES[size]
    under = card_origin_mm(layout)[1] + layout.height_mm + 9
    flat = [ln for ln in lines if abs(ln[1] - ln[3]) < 1e-6 and ln[1] > under]
    assert [ln[2] - ln[0] for ln in flat] == [pytest.approx(100, abs=0.01)]
    ticks = sorted(ln[0] for ln in lines if abs(ln[0] - ln[2]) < 1e-6 and ln[1] > under)
    assert len(ticks) == 101
    assert np.diff(ticks) == pytest.approx(np.ones(100), abs=0.01)


@pytest.mark.parametrize("size", ["A6", "A5"])
def test_grey_ramp_is_pure_grey_and_monotone(size: str) -> None:
    _, rects, _ = drawn(size)
    layout = CARD_SIZES[size]
    wide = layout.grey_rects()[0][0].width_mm
    high = layout.grey_rects()[0][0].height_mm
    ramp = [r for r in rects if abs(r[2] - r[0] - wide) < 0.01 and abs(r[3] - r[1] - high) < 0.01]
    assert len(ramp) == 16
    upper, lower = ramp[:8], ramp[8:]
    assert [r[4] for r in upper] == sorted((r[4] for r in upper), reverse=True)
    assert [r[4] for r in lower] == sorted(r[4] for r in lower)


def test_an_unknown_size_is_refused_with_the_sizes_there_are() -> None:
    with pytest.raises(ValueError, match="A6, A5"):
        card_pdf("A3")
