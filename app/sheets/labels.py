"""Labels for pieces and buckets on sheets of paper, by rows, columns and millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.sheets.paper import PAPERS, Page, new_canvas

__all__ = ["GRIDS", "Label", "LabelGrid", "label_grid", "labels_on_page", "labels_pdf"]

_EDGE_MM = 1.2
_RULE_ROOM_MM = 8.0
_RULE_LEFT_MM = 15.0
_SMALLEST_CODE_MM = 9.0
"""A QR code of version 1 with its quiet zone, 29 modules of 0.31 mm (common practice: not under 0.25 mm)."""


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """Where labels stand on a sheet: columns and rows, the size of one, the first one's place, the steps.

    Lengths in millimetres, from the paper's top left. `step` is from one label's edge to the next one's.
    """

    paper: str
    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    step_x_mm: float
    step_y_mm: float

    def origin_mm(self, number: int) -> tuple[float, float]:
        """Give the top left of the label with this number on its page, counted from 0 row by row."""
        row, column = divmod(number, self.columns)
        return (self.left_mm + column * self.step_x_mm, self.top_mm + row * self.step_y_mm)

    @property
    def per_page(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    def words(self) -> str:
        """Give it in words."""
        size = f"{self.width_mm:g} × {self.height_mm:g} mm"
        return f"{self.paper}, {self.columns} × {self.rows}, each {size}"


def label_grid(
    paper: str,
    columns: int,
    rows: int,
    width_mm: float,
    height_mm: float,
    *,
    gap_x_mm: float = 0.0,
    gap_y_mm: float = 0.0,
) -> LabelGrid:
    """Give the grid of this many labels that stands in the middle of the paper.

    Raises
    ------
    ValueError : the labels do not fit on the paper, or a label is too small for its code.
    """
    sheet = PAPERS[paper]
    across = columns * width_mm + (columns - 1) * gap_x_mm
    down = rows * height_mm + (rows - 1) * gap_y_mm
    if columns < 1 or rows < 1 or across > sheet.width_mm or down > sheet.height_mm:
        raise ValueError(
            f"{columns} × {rows} labels take {across:g} × {down:g} mm; {paper} has "
            f"{sheet.width_mm:g} × {sheet.height_mm:g} mm"
        )
    if min(width_mm / 2, height_mm) < _SMALLEST_CODE_MM:
        raise ValueError(f"a label must be at least {2 * _SMALLEST_CODE_MM:g} × {_SMALLEST_CODE_MM:g} mm")
    return LabelGrid(
        paper,
        columns,
        rows,
        width_mm,
        height_mm,
        (sheet.width_mm - across) / 2,
        (sheet.height_mm - down) / 2,
        width_mm + gap_x_mm,
        height_mm + gap_y_mm,
    )


def _with_rule(grid: LabelGrid) -> LabelGrid:
    """Move a grid down so that the check rule has room above it; it is cut from plain paper."""
    return replace(grid, top_mm=grid.top_mm + _RULE_ROOM_MM / 2)


GRIDS: dict[str, LabelGrid] = {
    "tile strips": _with_rule(label_grid("A4", 4, 16, 44.0, 16.0)),
    "tile strips, Letter": _with_rule(label_grid("Letter", 4, 15, 44.0, 16.0)),
    "A4, 3 × 8": label_grid("A4", 3, 8, 70.0, 37.0),
    "A4, 3 × 7": label_grid("A4", 3, 7, 63.5, 38.1, gap_x_mm=2.5),
    "A4, 4 × 10": label_grid("A4", 4, 10, 48.5, 25.4),
    "A4, 2 × 7": label_grid("A4", 2, 7, 99.1, 38.1, gap_x_mm=2.5),
    "A4, 2 × 4": label_grid("A4", 2, 4, 99.1, 67.7, gap_x_mm=2.5),
    "Letter, 3 × 10": label_grid("Letter", 3, 10, 66.7, 25.4, gap_x_mm=3.2),
    "Letter, 2 × 5": label_grid("Letter", 2, 5, 101.6, 50.8, gap_x_mm=4.8),
}
"""Grids by name. Strips are cut from plain paper; the others are sizes that label sheets are sold in
(common practice, no source), each standing in the middle of its paper."""


@dataclass(frozen=True, slots=True)
class Label:
    """One label: the code as a photo reads it and as a person does, and lines under it."""

    code: str
    lines: tuple[str, ...] = ()


def labels_pdf(
    labels: Sequence[Label], grid: LabelGrid, *, first: int = 0, borders: bool | None = None
) -> bytes:
    """Draw labels on as many sheets as they take.

    Parameters
    ----------
    labels : in the order they are to stand, row by row
    grid : where they stand
    first : labels of the first sheet that are gone already, 0 or more
    borders : draw the edge of each label, to cut along; by default on plain strips (with a check rule)

    Raises
    ------
    ValueError : no label is given, or `first` is not on the sheet.
    """
    if not labels:
        raise ValueError("no label is given")
    if not 0 <= first < grid.per_page:
        raise ValueError(f"label {first + 1} is not on a sheet of {grid.per_page}")
    paper = PAPERS[grid.paper]
    plain = grid in (GRIDS["tile strips"], GRIDS["tile strips, Letter"])
    canvas, out = new_canvas(paper, "Glostbook labels")
    for number, label in enumerate(labels, start=first):
        place = number % grid.per_page
        if place == 0 and number > first:
            canvas.showPage()
        page = Page(canvas, paper)
        if number == first or place == 0:
            _rule(page, grid)
        _label(page, label, grid, place, cut=plain if borders is None else borders)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def labels_on_page(page: Page, labels: Sequence[Label], grid: LabelGrid) -> None:
    """Draw strips to cut out, no more than the grid has, on a page that holds other things too."""
    for place, label in enumerate(labels):
        _label(page, label, grid, place, cut=True)


def _rule(page: Page, grid: LabelGrid) -> None:
    """Draw the check rule where the sheet has room outside the labels: above, else below."""
    low = grid.origin_mm(grid.per_page - 1)[1] + grid.height_mm
    room = page.paper.height_mm - low
    if grid.top_mm >= _RULE_ROOM_MM + 2:
        page.check_rule(_RULE_LEFT_MM, grid.top_mm - 3.5)
    elif room >= _RULE_ROOM_MM + 2:
        page.check_rule(_RULE_LEFT_MM, low + 6.0)


def _label(page: Page, label: Label, grid: LabelGrid, place: int, *, cut: bool) -> None:
    x, y = grid.origin_mm(place)
    if cut:
        page.canvas.setStrokeGray(0.6)
        page.box(x, y, grid.width_mm, grid.height_mm, line_mm=0.1)
        page.canvas.setStrokeGray(0)
    side = min(grid.height_mm - 2 * _EDGE_MM, grid.width_mm * 0.42)
    page.code(label.code, x + _EDGE_MM, y + (grid.height_mm - side) / 2, side)
    left = x + _EDGE_MM + side + 0.6
    room = x + grid.width_mm - _EDGE_MM - left
    size_pt = min(16.0, grid.height_mm * 0.8)
    small_pt = min(8.5, max(5.0, grid.height_mm * 0.28))
    step = small_pt * 1.3 / 2.83
    high = size_pt / 2.83 + step * len(label.lines)
    base = y + max(_EDGE_MM, (grid.height_mm - high) / 2) + size_pt / 2.83 * 0.8
    page.fitted(left, base, label.code, size_pt, room, bold=True)
    for line in label.lines:
        base += step
        if base < y + grid.height_mm - 0.5:
            page.fitted(left, base, line, small_pt, room)
