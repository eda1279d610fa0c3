"""The printed reference card: vector PDF in true millimetres, from the layout that the reader looks for."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from vision.card_layout import LAYOUTS, CardLayout, Rect

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from vision.surface import ByteImage

__all__ = ["CARD_SIZES", "card_origin_mm", "card_pdf", "card_picture"]

CARD_SIZES: dict[str, CardLayout] = {layout.name: layout for layout in LAYOUTS}

_MM = 72.0 / 25.4
"""PDF points in a millimetre (ISO 32000-1: the default unit is 1/72 inch)."""

_A4_PORTRAIT_MM = (210.0, 297.0)
_A4_LANDSCAPE_MM = (297.0, 210.0)
_CHECK_RULE_MM = 100
_MODULES = 6
_TOP_MM = 22.0
_CUT_GAP_MM = 2.0
_CUT_LENGTH_MM = 6.0
_SCREEN_PX_PER_MM = 5.0

_HOW_TO = (
    "Print at 100 % (no “fit to page”) on plain matt white paper. Then check the rule above with a ruler.",
    "Cut along the corner marks and glue the card flat on stiff board. Print a new one when it yellows.",
    "Lay it beside the tiles in the same light, with all four corner squares in the photo and uncovered.",
    "Hold the phone square above. A window to one side is best, no flash; let it show in a corner of a tile.",
    "Lay a tile’s printed label in the frame in the middle of the card and the photo will file itself.",
)


def _page_mm(layout: CardLayout) -> tuple[float, float]:
    """Give the A4 page's width and height: upright if the card leaves room beside it, else on its side."""
    room = 2 * (_CUT_GAP_MM + _CUT_LENGTH_MM)
    return _A4_PORTRAIT_MM if layout.width_mm + room <= _A4_PORTRAIT_MM[0] else _A4_LANDSCAPE_MM


def card_origin_mm(layout: CardLayout) -> tuple[float, float]:
    """Give where the card's top left stands on the page, from the page's top left, in millimetres."""
    page_width, _ = _page_mm(layout)
    return ((page_width - layout.width_mm) / 2, _TOP_MM)


class _Sheet:
    """A canvas that takes millimetres from the top left, as the layout does."""

    def __init__(self, canvas: Canvas, height_mm: float) -> None:
        self.canvas = canvas
        self.height_mm = height_mm

    def box(self, rect: Rect, origin: tuple[float, float], *, fill: bool = True) -> None:
        x, y = origin[0] + rect.x_mm, self.height_mm - origin[1] - rect.y_mm - rect.height_mm
        self.canvas.rect(
            x * _MM, y * _MM, rect.width_mm * _MM, rect.height_mm * _MM, stroke=int(not fill), fill=int(fill)
        )

    def line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self.canvas.line(x0 * _MM, (self.height_mm - y0) * _MM, x1 * _MM, (self.height_mm - y1) * _MM)

    def text(self, x: float, y: float, words: str, size_pt: float, font: str = "Helvetica") -> None:
        self.canvas.setFont(font, size_pt)
        self.canvas.drawString(x * _MM, (self.height_mm - y) * _MM, words)


def _rule(sheet: _Sheet, zero: float, base: float, length: int, *, numbers: bool) -> None:
    sheet.canvas.setLineWidth(0.2 * _MM)
    sheet.line(zero, base, zero + length, base)
    for mm in range(length + 1):
        high = 5.0 if mm % 10 == 0 else 3.6 if mm % 5 == 0 else 2.2
        sheet.line(zero + mm, base, zero + mm, base - high)
        if numbers and mm % 10 == 0:
            sheet.text(zero + mm - (0.8 if mm < 10 else 1.6), base + 3.6, str(mm), 7)


def _card(sheet: _Sheet, layout: CardLayout, origin: tuple[float, float]) -> None:
    from vision.card_drawing import grey_code, marker_modules

    canvas = sheet.canvas
    canvas.setFillGray(0)
    module = layout.marker_mm / _MODULES
    for marker_id, rect in zip(layout.marker_ids, layout.marker_rects(), strict=True):
        for i, row in enumerate(marker_modules(marker_id)):
            for start, stop in _black_runs(row.tolist()):
                run = Rect(
                    rect.x_mm + start * module, rect.y_mm + i * module, (stop - start) * module, module
                )
                sheet.box(run, origin)
    for rect, lightness in layout.grey_rects():
        canvas.setFillGray(grey_code(lightness) / 255)
        sheet.box(rect, origin)
    canvas.setStrokeGray(0.45)
    canvas.setLineWidth(0.2 * _MM)
    place = layout.label_rect()
    sheet.box(place, origin, fill=False)
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    zero, base, length = layout.rule()
    _rule(sheet, origin[0] + zero, origin[1] + base, length, numbers=False)
    sheet.text(
        origin[0] + zero,
        origin[1] + base + 3.6,
        f"Glostbook {layout.name}   print at 100 %   rule in mm",
        6.5,
    )


def _black_runs(row: list[bool]) -> list[tuple[int, int]]:
    """Give [start, stop) of each run of black modules, so that no hairline shows between neighbours."""
    runs: list[tuple[int, int]] = []
    for j, white in enumerate(row):
        if white:
            continue
        if runs and runs[-1][1] == j:
            runs[-1] = (runs[-1][0], j + 1)
        else:
            runs.append((j, j + 1))
    return runs


def _cutting_marks(sheet: _Sheet, layout: CardLayout, origin: tuple[float, float]) -> None:
    sheet.canvas.setLineWidth(0.1 * _MM)
    left, top = origin
    right, low = left + layout.width_mm, top + layout.height_mm
    near, far = _CUT_GAP_MM, _CUT_GAP_MM + _CUT_LENGTH_MM
    for x in (left, right):
        sheet.line(x, top - near, x, top - far)
        sheet.line(x, low + near, x, low + far)
    for y in (top, low):
        sheet.line(left - near, y, left - far, y)
        sheet.line(right + near, y, right + far, y)


def card_pdf(size: str) -> bytes:
    """Draw the reference card as one A4 page of vector PDF, in true millimetres.

    The greys are asked for in black ink alone (PDF DeviceGray), so that the ramp carries no colour cast of
    the printer's mixing. Nothing on the sheet scales or turns the page: 1 mm is 72/25.4 points throughout.

    Parameters
    ----------
    size : "A6" or "A5"

    Returns
    -------
    bytes : the PDF file

    Raises
    ------
    ValueError : `size` is no size of ours.
    """
    if size not in CARD_SIZES:
        raise ValueError(f"card size {size!r}: wanted one of {', '.join(CARD_SIZES)}")
    from reportlab.pdfgen.canvas import Canvas

    layout = CARD_SIZES[size]
    width, height = _page_mm(layout)
    out = BytesIO()
    canvas = Canvas(out, pagesize=(width * _MM, height * _MM), pageCompression=0, invariant=1)
    canvas.setAuthor("Glostbook")
    canvas.setTitle(f"Glostbook reference card {layout.name}")
    sheet = _Sheet(canvas, height)
    origin = card_origin_mm(layout)
    _cutting_marks(sheet, layout, origin)
    _card(sheet, layout, origin)
    _below(sheet, origin, layout)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def card_picture(size: str) -> ByteImage:
    """Give the trimmed card as a picture for the screen, (rows, cols, 3) uint8 sRGB."""
    from vision.card_drawing import draw_card

    return draw_card(CARD_SIZES[size], _SCREEN_PX_PER_MM)


def _below(sheet: _Sheet, origin: tuple[float, float], layout: CardLayout) -> None:
    """Draw the check rule and how to use the card, under it."""
    top = origin[1] + layout.height_mm + _CUT_GAP_MM + _CUT_LENGTH_MM
    left = origin[0]
    _rule(sheet, left, top + 10, _CHECK_RULE_MM, numbers=True)
    sheet.text(left + _CHECK_RULE_MM + 4, top + 10, "This rule must measure 100 mm.", 8)
    portrait = sheet.height_mm > _A4_LANDSCAPE_MM[1]
    if not portrait:
        sheet.text(left, top + 20, _HOW_TO[0], 8)
        return
    y = top + 28
    sheet.text(left, y, "How to use the card", 11, "Helvetica-Bold")
    for number, words in enumerate(_HOW_TO, start=1):
        for k, piece in enumerate(_wrapped(words, 104)):
            y += 8 if k == 0 else 5
            if k == 0:
                sheet.text(left, y, f"{number}", 9, "Helvetica-Bold")
            sheet.text(left + 6, y, piece, 9)


def _wrapped(words: str, width: int) -> list[str]:
    from textwrap import wrap

    return wrap(words, width)
