"""A page of paper measured from its top left in true millimetres, and what every sheet carries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from app.sheets.lettering import BOLD, PLAIN, runs, width_pt

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["CHECK_RULE_MM", "MM", "PAPERS", "Page", "Paper", "new_canvas", "wrapped"]

MM = 72.0 / 25.4
"""PDF points in a millimetre (ISO 32000-1: the default unit is 1/72 inch)."""

CHECK_RULE_MM = 100
_LINE = 1.38
"""Distance of lines over the size of the letters."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright."""

    name: str
    width_mm: float
    height_mm: float


PAPERS = {"A4": Paper("A4", 210.0, 297.0), "Letter": Paper("Letter", 215.9, 279.4)}
"""A4 by ISO 216; Letter by ANSI/ASME Y14.1: 8.5 by 11 inches."""


def new_canvas(paper: Paper, title: str) -> tuple[Canvas, BytesIO]:
    """Make an empty document of this paper. The same content gives the same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    out = BytesIO()
    canvas = Canvas(out, pagesize=(paper.width_mm * MM, paper.height_mm * MM), invariant=1)
    canvas.setAuthor("Glostbook")
    canvas.setTitle(title)
    return canvas, out


class Page:
    """One page of a canvas; all lengths in millimetres, from the top left, downwards."""

    def __init__(self, canvas: Canvas, paper: Paper) -> None:
        self.canvas = canvas
        self.paper = paper

    def _up(self, y_mm: float) -> float:
        return (self.paper.height_mm - y_mm) * MM

    def box(self, x: float, y: float, width: float, height: float, *, line_mm: float | None = None) -> None:
        """Draw a filled box, or with `line_mm` its outline."""
        if line_mm is not None:
            self.canvas.setLineWidth(line_mm * MM)
        self.canvas.rect(
            x * MM,
            self._up(y + height),
            width * MM,
            height * MM,
            stroke=int(line_mm is not None),
            fill=int(line_mm is None),
        )

    def line(self, x0: float, y0: float, x1: float, y1: float, line_mm: float = 0.2) -> None:
        """Draw a line."""
        self.canvas.setLineWidth(line_mm * MM)
        self.canvas.line(x0 * MM, self._up(y0), x1 * MM, self._up(y1))

    def text(self, x: float, base: float, words: str, size_pt: float, *, bold: bool = False) -> None:
        """Set words on the line `base`, whatever their alphabet."""
        left = x * MM
        for font, letters in runs(words, BOLD if bold else PLAIN):
            from reportlab.pdfbase.pdfmetrics import stringWidth

            self.canvas.setFont(font, size_pt)
            self.canvas.drawString(left, self._up(base), letters)
            left += stringWidth(letters, font, size_pt)

    def fitted(
        self, x: float, base: float, words: str, size_pt: float, room: float, *, bold: bool = False
    ) -> None:
        """Set words on one line, in smaller letters where they would run out of their room."""
        wide = width_pt(words, size_pt, BOLD if bold else PLAIN) / MM
        self.text(x, base, words, size_pt * min(1.0, room / wide) if wide > 0 else size_pt, bold=bold)

    def paragraph(
        self, x: float, top: float, words: str, size_pt: float, room: float, *, bold: bool = False
    ) -> float:
        """Set words in lines no wider than `room`; gives where the next line may begin."""
        step = size_pt * _LINE / MM
        for row in wrapped(words, size_pt, room, bold=bold):
            top += step
            self.text(x, top, row, size_pt, bold=bold)
        return top

    def code(self, text: str, x: float, y: float, side: float) -> None:
        """Draw a QR code in a square of `side`, four modules of quiet zone in it (ISO/IEC 18004)."""
        import segno

        matrix = [list(row) for row in segno.make(text, error="m", micro=False).matrix_iter(border=4)]
        module = side / len(matrix)
        for i, row in enumerate(matrix):
            start = None
            for j, dark in enumerate([*row, 0]):
                if dark and start is None:
                    start = j
                elif not dark and start is not None:
                    self.box(x + start * module, y + i * module, (j - start) * module, module)
                    start = None

    def check_rule(self, x: float, base: float) -> None:
        """Draw the rule by which a person sees whether the printer kept the size."""
        self.line(x, base, x + CHECK_RULE_MM, base)
        for mm in range(CHECK_RULE_MM + 1):
            high = 3.0 if mm % 10 == 0 else 2.2 if mm % 5 == 0 else 1.4
            self.line(x + mm, base, x + mm, base - high, 0.15)
        self.text(x + CHECK_RULE_MM + 3, base, "must measure 100 mm: print at 100 %", 6.5)


def wrapped(words: str, size_pt: float, room_mm: float, *, bold: bool = False) -> Sequence[str]:
    """Part words into lines no wider than `room_mm`; a single word too long for it is parted by letters."""
    font = BOLD if bold else PLAIN
    rows: list[str] = []
    row = ""
    for word in words.split():
        longer = f"{row} {word}".strip()
        if width_pt(longer, size_pt, font) <= room_mm * MM:
            row = longer
            continue
        if row:
            rows.append(row)
        row = ""
        for letter in word:
            if row and width_pt(row + letter, size_pt, font) > room_mm * MM:
                rows.append(row)
                row = ""
            row += letter
    return [*rows, row] if row else rows
