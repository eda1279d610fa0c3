"""The note that goes with a piece: what it is, what it may be used for, how to look after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.sheets.paper import PAPERS, Page, new_canvas

__all__ = ["CARE", "NOTE_MM", "CareNote", "care_notes_pdf", "note_origin_mm"]

NOTE_MM = (90.0, 126.0)
_ACROSS, _DOWN = 2, 2
_TOP_MM = 18.0
_PAD_MM = 6.0
_CODE_MM = 22.0

CARE = (
    "Warm it slowly: pouring boiling water into cold ware, or setting hot ware on a wet board, can crack it.",
    "If the glaze crackles, flakes or chips, or the piece cracks or rings dull, stop using it for food or "
    "drink and tell the maker, with the number on this note.",
    "Wash it by hand with a soft sponge and let the foot dry.",
)
"""Common practice, no source. Nothing here promises that ware stands an oven, a machine or food."""


@dataclass(frozen=True, slots=True)
class CareNote:
    """What one note says.

    Attributes
    ----------
    code : of the piece, printed as QR code and as text
    title : what it is, such as "Mug, Slate blue on white stoneware"
    fired : when, in words; empty where not known
    use : the statement of use, one sentence
    mark : what to do about it, one sentence
    maker : name and place as the maker wants them; may be empty
    """

    code: str
    title: str
    fired: str
    use: str
    mark: str
    maker: str = ""


def note_origin_mm(paper: str, number: int) -> tuple[float, float]:
    """Give the top left of the note with this number on its page, from the page's top left."""
    sheet = PAPERS[paper]
    row, column = divmod(number, _ACROSS)
    left = (sheet.width_mm - _ACROSS * NOTE_MM[0]) / 2
    return (left + column * NOTE_MM[0], _TOP_MM + row * NOTE_MM[1])


def care_notes_pdf(notes: Sequence[CareNote], paper: str = "A4") -> bytes:
    """Draw care notes, four to a sheet, to cut apart. Raises ValueError where none is given."""
    if not notes:
        raise ValueError("no note is given")
    canvas, out = new_canvas(PAPERS[paper], "Glostbook care notes")
    for number, note in enumerate(notes):
        place = number % (_ACROSS * _DOWN)
        page = Page(canvas, PAPERS[paper])
        if place == 0:
            if number:
                canvas.showPage()
            page.check_rule(note_origin_mm(paper, 0)[0], _TOP_MM - 6)
        _note(page, note, *note_origin_mm(paper, place))
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _note(page: Page, note: CareNote, x: float, y: float) -> None:
    page.canvas.setStrokeGray(0.6)
    page.box(x, y, *NOTE_MM, line_mm=0.1)
    page.canvas.setStrokeGray(0)
    left, room = x + _PAD_MM, NOTE_MM[0] - 2 * _PAD_MM
    beside = room - _CODE_MM - 2
    page.code(note.code, left - 2, y + _PAD_MM - 2, _CODE_MM)
    page.fitted(left + _CODE_MM, y + _PAD_MM + 7, note.code, 18, beside, bold=True)
    down = page.paragraph(left + _CODE_MM, y + _PAD_MM + 9, note.title, 8, beside)
    if note.fired:
        page.paragraph(left + _CODE_MM, down, note.fired, 8, beside)
    down = page.paragraph(left, y + _PAD_MM + _CODE_MM, note.use, 11, room, bold=True)
    down = page.paragraph(left, down + 0.5, note.mark, 8, room)
    page.line(left, down + 3, left + room, down + 3)
    down += 3
    for words in CARE:
        down = page.paragraph(left, down + 1.2, words, 8, room)
    down = page.paragraph(
        left, down + 1.2, "Local rules and accredited laboratories decide what ware may touch food.", 7, room
    )
    if note.maker:
        page.fitted(left, y + NOTE_MM[1] - _PAD_MM, note.maker, 9, room, bold=True)
