"""`Cards`: the studio's printed reference cards and the true colours they were taught."""

from __future__ import annotations

from pathlib import PurePath

from sqlalchemy import select

from catalog.card_tables import CardTeachingRow
from catalog.columns import now
from catalog.database import Database
from catalog.photos import KeptFiles
from catalog.tables import PhotoRow
from vision.taught_card import TaughtCard

__all__ = ["Cards"]


class Cards:
    """Taught cards. Made by `Catalog`; each method is one transaction."""

    def __init__(self, database: Database, photos: KeptFiles) -> None:
        self.database = database
        self.photos = photos

    def teach(self, card: TaughtCard, data: bytes, photo_name: str) -> None:
        """Keep a card's true colours and the photo they come from, in place of what was taught before.

        Parameters
        ----------
        card : as `vision.taught.teach_card` gives it
        data : the photo's bytes, kept untouched
        photo_name : its file name
        """
        sha256 = self.photos.keep(data)
        with self.database.writing() as session:
            if session.get(PhotoRow, sha256) is None:
                name = PurePath(photo_name.replace("\\", "/")).name
                session.add(PhotoRow(sha256=sha256, name=name, size_bytes=len(data), kept_at=now()))
                session.flush()
            session.add(
                CardTeachingRow(
                    layout=card.layout,
                    taught_on=card.on,
                    card=card.to_dict(),
                    photo_sha256=sha256,
                    kept_at=now(),
                    removed_at=None,
                )
            )

    def taught(self) -> tuple[TaughtCard, ...]:
        """Give the card in use of each size, by size."""
        query = (
            select(CardTeachingRow)
            .where(CardTeachingRow.removed_at.is_(None))
            .order_by(CardTeachingRow.layout, CardTeachingRow.id)
        )
        with self.database.reading() as session:
            newest = {row.layout: TaughtCard.from_dict(row.card) for row in session.scalars(query)}
        return tuple(newest.values())

    def forget(self, layout: str) -> None:
        """Take back all that cards of this size were taught: a new print is another card."""
        query = select(CardTeachingRow).where(
            CardTeachingRow.layout == layout, CardTeachingRow.removed_at.is_(None)
        )
        with self.database.writing() as session:
            for row in session.scalars(query):
                row.removed_at = now()
