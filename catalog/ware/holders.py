"""`Ware`: who has which piece, and where pieces stand in the kiln."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import delete, select

from catalog import pieces, values
from catalog.database import Database
from catalog.tables import PieceRow
from catalog.ware.tables import HolderRow, SideRow

__all__ = ["SIDES", "Holder", "Ware"]

SIDES = ("front", "back", "left", "right", "middle")


@dataclass(frozen=True, slots=True)
class Holder:
    """Who has a piece, since when, in the potter's own words."""

    holder: str
    since: date | None = None
    note: str = ""


class Ware:
    """Holders of pieces and their places in the kiln. Made by `Catalog`; each method is one transaction."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def holders(self) -> dict[str, Holder]:
        """Give who has which piece, by code; removed pieces are left out."""
        query = (
            select(PieceRow.code, HolderRow)
            .join(HolderRow, HolderRow.piece_id == PieceRow.id)
            .where(PieceRow.deleted_at.is_(None))
        )
        with self.database.reading() as session:
            return {code: Holder(row.holder, row.since, row.note) for code, row in session.execute(query)}

    def set_holder(self, code: str, holder: str, *, since: date | None = None, note: str = "") -> Holder:
        """Keep who has a piece. Raises PieceNotFoundError, InvalidRecordError."""
        name = values.checked_name("holder", holder)
        with self.database.writing() as session:
            row = pieces.piece_row(session, code)
            session.merge(HolderRow(piece_id=row.id, holder=name, since=since, note=note.strip()))
        return Holder(name, since, note.strip())

    def forget_holder(self, code: str) -> None:
        """Erase who has a piece; nothing of it stays. Raises PieceNotFoundError."""
        with self.database.writing() as session:
            row = pieces.piece_row(session, code)
            session.execute(delete(HolderRow).where(HolderRow.piece_id == row.id))

    def sides(self, codes: Sequence[str] | None = None) -> dict[str, str]:
        """Give on which side of its shelf each piece stands, by code, where somebody said."""
        query = (
            select(PieceRow.code, SideRow.side)
            .join(SideRow, SideRow.piece_id == PieceRow.id)
            .where(PieceRow.deleted_at.is_(None))
        )
        with self.database.reading() as session:
            found = {row.code: row.side for row in session.execute(query)}
        return found if codes is None else {code: found[code] for code in codes if code in found}

    def set_places(self, places: Mapping[str, tuple[str | None, str | None]]) -> None:
        """Keep shelf and side of pieces; None says that nobody knows.

        Raises
        ------
        PieceNotFoundError, InvalidRecordError : nothing is kept then.
        """
        with self.database.writing() as session:
            for code, (shelf, side) in places.items():
                row = pieces.piece_row(session, code)
                row.shelf = None if shelf is None or not shelf.strip() else shelf.strip()
                session.execute(delete(SideRow).where(SideRow.piece_id == row.id))
                if side is not None:
                    session.add(SideRow(piece_id=row.id, side=values.checked_choice("side", side, SIDES)))
