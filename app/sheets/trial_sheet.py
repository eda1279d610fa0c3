"""The sheet of a trial: what to make, what was foretold, strips to label the tiles, room to write."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.sheets.labels import GRIDS, Label, LabelGrid, labels_on_page
from app.sheets.paper import PAPERS, Page, new_canvas

__all__ = ["TrialSheet", "strips_grid", "trial_pdf"]

_LEFT_MM = 15.0
_STRIPS_MOST = 12


@dataclass(frozen=True, slots=True)
class TrialSheet:
    """What the sheet says: heading, rows of (name, words), and (code, side, expectation) of each tile."""

    title: str
    about: str
    rows: tuple[tuple[str, str], ...]
    tiles: tuple[tuple[str, str, str], ...]


def strips_grid(paper: str, count: int) -> LabelGrid:
    """Give the grid of the strips at the foot of the sheet, for up to 12 tiles."""
    base = GRIDS["tile strips" if paper == "A4" else "tile strips, Letter"]
    rows = -(-min(count, _STRIPS_MOST) // base.columns)
    top = PAPERS[paper].height_mm - 16 - rows * base.height_mm
    return LabelGrid(
        paper,
        base.columns,
        max(rows, 1),
        base.width_mm,
        base.height_mm,
        base.left_mm,
        top,
        base.step_x_mm,
        base.step_y_mm,
    )


def trial_pdf(trial: TrialSheet, paper: str = "A4") -> bytes:
    """Draw the sheet of a trial as one page; strips beyond 12 go on pages of their own."""
    sheet = PAPERS[paper]
    canvas, out = new_canvas(sheet, "Glostbook trial")
    page = Page(canvas, sheet)
    room = sheet.width_mm - 2 * _LEFT_MM
    down = page.paragraph(_LEFT_MM, 12, trial.title, 16, room, bold=True)
    down = page.paragraph(_LEFT_MM, down + 1, trial.about, 9, room) + 2
    for name, words in trial.rows:
        down = page.paragraph(_LEFT_MM, down + 0.8, f"{name}: {words}", 9, room)
    down = _table(page, trial.tiles, down + 5, room)
    page.paragraph(_LEFT_MM, down + 1, "Fired on:                         Cone by these tiles:", 9, room)
    if trial.tiles:
        labels = [Label(code, (side,)) for code, side, _ in trial.tiles]
        grid = strips_grid(paper, len(labels))
        labels_on_page(page, labels[:_STRIPS_MOST], grid)
        page.check_rule(_LEFT_MM, sheet.height_mm - 8)
        if len(labels) > _STRIPS_MOST:
            rest = GRIDS["tile strips" if paper == "A4" else "tile strips, Letter"]
            canvas.showPage()
            labels_on_page(page, labels[_STRIPS_MOST : _STRIPS_MOST + rest.per_page], rest)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _table(page: Page, tiles: Sequence[tuple[str, str, str]], top: float, room: float) -> float:
    """Draw a line for each tile, with room to write what came out; gives where it ends."""
    columns = (0.0, 24.0, 74.0, 116.0)
    for at, words in zip(columns, ("Tile", "Side", "If so", "What came out"), strict=True):
        page.text(_LEFT_MM + at, top, words, 8.5, bold=True)
    step = 7.0 if len(tiles) <= _STRIPS_MOST else 5.0
    for code, side, expected in tiles:
        top += step
        page.text(_LEFT_MM, top - 1.6, code, 9, bold=True)
        page.fitted(_LEFT_MM + columns[1], top - 1.6, side, 8, columns[2] - columns[1] - 2)
        page.fitted(_LEFT_MM + columns[2], top - 1.6, expected, 8, columns[3] - columns[2] - 2)
        page.line(_LEFT_MM, top, _LEFT_MM + room, top, 0.1)
    return top
