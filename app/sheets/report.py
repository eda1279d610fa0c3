"""The report of a piece: its picture at true size, its figures, what it is made of, one page each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from io import BytesIO

from app.sheets.paper import MM, PAPERS, Page, new_canvas
from app.words.choices import percent

__all__ = ["PICTURE_LEFT_MM", "PICTURE_TOP_MM", "PieceReport", "reports_pdf"]

PICTURE_LEFT_MM, PICTURE_TOP_MM = 15.0, 42.0
_MOST_MM = (80.0, 150.0)
_RIGHT_EDGE_MM = 15.0
_GAP_MM = 8.0


@dataclass(frozen=True, slots=True)
class PieceReport:
    """What one page says.

    Attributes
    ----------
    picture : the straightened view's file, None without one
    mm_per_px : of that view, None where the photo has no scale
    colours : (sRGB hex, share 0..1), the first the glaze's own
    blocks : (heading, rows of (name, words))
    """

    code: str
    title: str
    picture: bytes | None = None
    mm_per_px: float | None = None
    colours: tuple[tuple[str, float], ...] = ()
    blocks: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = field(default=())


def reports_pdf(reports: Sequence[PieceReport], paper: str = "A4") -> bytes:
    """Draw a page for each piece. Raises ValueError where none is given."""
    if not reports:
        raise ValueError("no piece is given")
    canvas, out = new_canvas(PAPERS[paper], "Glostbook report")
    for report in reports:
        _page(Page(canvas, PAPERS[paper]), report)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _page(page: Page, report: PieceReport) -> None:
    wide = page.paper.width_mm
    page.code(report.code, PICTURE_LEFT_MM - 2, 13, 24)
    page.fitted(PICTURE_LEFT_MM + 24, 23, report.code, 24, 90, bold=True)
    page.fitted(PICTURE_LEFT_MM + 24, 31, report.title, 11, wide - PICTURE_LEFT_MM - 24 - _RIGHT_EDGE_MM)
    low = _picture(page, report)
    left = PICTURE_LEFT_MM + _MOST_MM[0] + _GAP_MM
    room = wide - left - _RIGHT_EDGE_MM
    down = PICTURE_TOP_MM - 4
    for heading, rows in report.blocks:
        if down > page.paper.height_mm - 40:
            left, room, down = PICTURE_LEFT_MM, _MOST_MM[0], low + 4
        down = page.paragraph(left, down + 1, heading, 10, room, bold=True)
        for name, words in rows:
            down = page.paragraph(left, down, f"{name}: {words}" if name else words, 8, room)
        down += 2
    page.check_rule(PICTURE_LEFT_MM, page.paper.height_mm - 14)


def _picture(page: Page, report: PieceReport) -> float:
    """Draw the picture, at true size where it has one and room, and its colours; gives where it ends."""
    low = PICTURE_TOP_MM
    if report.picture is not None:
        from PIL import Image
        from reportlab.lib.utils import ImageReader

        with Image.open(BytesIO(report.picture)) as opened:
            shape = (float(opened.width), float(opened.height))
        unit = report.mm_per_px or 1.0
        shown = (shape[0] * unit, shape[1] * unit)
        scale = min(_MOST_MM[0] / shown[0], _MOST_MM[1] / shown[1])
        if report.mm_per_px is not None:
            scale = min(1.0, scale)
        width, height = shown[0] * scale, shown[1] * scale
        page.canvas.drawImage(
            ImageReader(BytesIO(report.picture)),
            PICTURE_LEFT_MM * MM,
            (page.paper.height_mm - PICTURE_TOP_MM - height) * MM,
            width * MM,
            height * MM,
        )
        low += height
        low = page.paragraph(PICTURE_LEFT_MM, low, _scale_words(report.mm_per_px, scale), 7, _MOST_MM[0])
    low += 3
    left = PICTURE_LEFT_MM
    for colour, share in report.colours:
        width = _MOST_MM[0] * share
        page.canvas.setFillColor(colour)
        page.box(left, low, width, 8)
        left += width
    page.canvas.setFillGray(0)
    if report.colours:
        words = "Printed colours are only near: a printer is no colour standard. The figures count."
        low = page.paragraph(PICTURE_LEFT_MM, low + 8, words, 7, _MOST_MM[0])
    return low


def _scale_words(mm_per_px: float | None, scale: float) -> str:
    if mm_per_px is None:
        return "Not to scale: the photo had no card."
    return "At true size." if scale == 1.0 else f"At {percent(scale)} of true size."
