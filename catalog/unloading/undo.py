"""What filing a photo did to the pieces, written down so that it can be undone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog import pieces
from catalog.columns import now
from catalog.records import PieceDraft
from catalog.tables import PieceRow, ReadingRow
from catalog.unloading.rows import said_before, say_before
from catalog.unloading.tables import UnloadingPhotoRow

__all__ = ["filed_again", "filing_done", "pieces_before", "take_back"]

_FILLED = ("body_id", "load_id", "shelf", "kind", "notes", "facts")


def pieces_before(session: Session, drafts: Iterable[PieceDraft]) -> dict[str, Any]:
    """Give what is known of the pieces that drafts name, and the last reading there is."""
    rows = [row for draft in drafts if draft.code and (row := pieces.find_row(session, draft.code))]
    return {
        "last_reading": session.scalar(select(func.max(ReadingRow.id))) or 0,
        "pieces": {
            row.id: {name: getattr(row, name) for name in _FILLED} | {"bare": not row.layers} for row in rows
        },
    }


def filing_done(session: Session, sha256: str, before: dict[str, Any]) -> dict[str, Any]:
    """Give what a filing did since `pieces_before`: readings added, pieces made, gaps filled."""
    session.flush()
    readings = session.scalars(
        select(ReadingRow).where(ReadingRow.photo_sha256 == sha256, ReadingRow.id > before["last_reading"])
    ).all()
    known = {
        row.id
        for row in session.scalars(
            select(PieceRow)
            .join(ReadingRow, ReadingRow.piece_id == PieceRow.id)
            .where(ReadingRow.id <= before["last_reading"])
            .where(PieceRow.id.in_([reading.piece_id for reading in readings]))
        )
    } | set(before["pieces"])
    made, filled = [], {}
    for piece_id in dict.fromkeys(reading.piece_id for reading in readings):
        if piece_id not in known:
            made.append(piece_id)
            continue
        row = session.get_one(PieceRow, piece_id)
        was = before["pieces"].get(piece_id, {})
        changes = {
            name: [was[name], getattr(row, name)]
            for name in _FILLED
            if name in was and was[name] != getattr(row, name)
        }
        if was.get("bare") and row.layers:
            changes["layers"] = [None, None]
        if changes:
            filled[str(piece_id)] = changes
    return {
        "readings": [reading.id for reading in readings],
        "made": made,
        "filled": filled,
    }


def filed_again(first: dict[str, Any], second: dict[str, Any]) -> dict[str, Any]:
    """Give what two filings of one photo did together: it may be filed, read once more and filed again."""
    if not first:
        return second
    filled = {piece: dict(changes) for piece, changes in first["filled"].items()}
    for piece, changes in second["filled"].items():
        before = filled.setdefault(piece, {})
        for name, (was, became) in changes.items():
            before[name] = [before.get(name, [was])[0], became]
    both = {
        name: list(dict.fromkeys([*first.get(name, ()), *value]))
        for name, value in second.items()
        if isinstance(value, list)
    }
    return second | both | {"filled": filled}


def take_back(session: Session, photos: Sequence[UnloadingPhotoRow]) -> int:
    """Undo the filing of photos in the caller's transaction; gives how many pieces it touched.

    A piece made by the filing goes off the shelf, unless it has been photographed since. A reading added
    to a piece filed before is taken back: it is superseded by itself. Gaps that the filing filled are gaps
    again, unless somebody changed them since. Nothing is erased.
    """
    touched: set[int] = set()
    # the last filed first: what a later photo added to a piece is gone before the piece that an earlier made
    for photo in sorted(photos, key=lambda one: max(one.filing.get("readings", (0,))), reverse=True):
        ours = set(photo.filing.get("readings", ()))
        for reading in session.scalars(select(ReadingRow).where(ReadingRow.id.in_(ours))):
            for earlier in session.scalars(
                select(ReadingRow).where(ReadingRow.superseded_by_id == reading.id)
            ):
                if earlier.id != reading.id:
                    earlier.superseded_by_id = None
            row = session.get_one(PieceRow, reading.piece_id)
            touched.add(row.id)
            others = [other for other in row.readings if other.id not in ours and standing(other)]
            if row.id in photo.filing["made"] and not others:
                row.deleted_at = row.deleted_at or now()
            else:
                reading.superseded_by_id = reading.id
        for piece_id, changes in photo.filing.get("filled", {}).items():
            row = session.get_one(PieceRow, int(piece_id))
            for name, (was, became) in changes.items():
                if name == "layers":
                    row.layers.clear()
                elif getattr(row, name) == became:
                    setattr(row, name, was)
        photo.filing = {}
        photo.state = "read"
        say_before(photo, replace(said_before(photo), second_of=None))
        session.flush()
    for piece_id in touched:
        row = session.get_one(PieceRow, piece_id)
        if row.deleted_at is None:
            pieces.refreshed(session, row)
    if touched:
        pieces.bump(session, "colours")
    return len(touched)


def standing(reading: ReadingRow) -> bool:
    """Tell whether a reading was not taken back."""
    return reading.superseded_by_id != reading.id
