"""The unloading table: one row a piece found, filled by a person, turned into drafts and filed."""

from __future__ import annotations

import time
from base64 import b64encode
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from app.services.filing import file_views, with_codes
from app.services.reading import ReadItem
from app.services.studio import glaze_layer, latest_glazes
from catalog.records import Filing, PieceDraft
from catalog.store import Catalog

__all__ = ["COLUMNS", "FOR_ALL", "Pace", "Row", "file_item", "new_rows", "with_all"]

Row = dict[str, Any]
"""One piece in the table: `COLUMNS` with their values, None where nothing is said."""

FOR_ALL = ("body", "glaze", "coats", "method", "shelf")
COLUMNS = ("digest", "file", "picture", "code", *FOR_ALL, "kind", "photo", "piece")
_TABLE_PICTURE_PX = 120


@dataclass(slots=True)
class Pace:
    """Tells how long is left from how long the first ones took."""

    total: int
    done: int = 0
    started_s: float = field(default_factory=time.monotonic)

    def step(self) -> None:
        """Count one more as done."""
        self.done += 1

    @property
    def fraction(self) -> float:
        """Part done, 0..1."""
        return self.done / self.total if self.total else 1.0

    def left_words(self) -> str:
        """Say how long is left, nothing before the first is done."""
        if not self.done or self.done >= self.total:
            return ""
        seconds = (time.monotonic() - self.started_s) / self.done * (self.total - self.done)
        return f"about {seconds:.0f} s left" if seconds < 90 else f"about {seconds / 60:.0f} min left"


def new_rows(item: ReadItem) -> list[Row]:
    """Give the table's rows of a photo just read: the label as the code, the rest not said."""
    return [
        {
            "digest": item.sha256,
            "file": True,
            "picture": _small_picture(item, number - 1),
            "photo": 0,
            "piece": number,
            "code": tile.label,
            "kind": str(tile.subject),
            "body": None,
            "glaze": None,
            "coats": None,
            "method": None,
            "shelf": None,
        }
        for number, tile in enumerate(item.reading.tiles, start=1)
    ]


def _small_picture(item: ReadItem, index: int) -> str | None:
    """Give a piece's picture for the table, as an address that holds the picture itself."""
    from app.widgets.pictures import small_copy

    data = (item.views or {}).get(index)
    if data is None:
        return None
    return f"data:image/jpeg;base64,{b64encode(small_copy(data, _TABLE_PICTURE_PX)).decode()}"


def with_all(rows: Sequence[Row], said: Mapping[str, Any]) -> list[Row]:
    """Give the rows with what was said for all of them put in."""
    told = {name: value for name, value in said.items() if name in FOR_ALL and value is not None}
    return [{**row, **told} for row in rows]


def file_item(
    catalog: Catalog, item: ReadItem, rows: Sequence[Row], load_id: int | None, taken: Collection[str]
) -> Filing:
    """File the pieces of one photo that are ticked.

    Parameters
    ----------
    rows : the table's rows of this photo, `piece` counting its tiles from 1
    taken : the codes written anywhere in the table

    Raises
    ------
    The catalogue's errors; nothing of this photo is kept then.
    """
    bodies = {body.name: body.id for body in catalog.bodies()}
    glazes = latest_glazes(catalog)
    drafts = []
    for row in rows:
        if not row["file"]:
            continue
        layers = ()
        if row["glaze"]:
            coats = None if row["coats"] is None else int(row["coats"])
            layers = (
                glaze_layer(catalog, row["glaze"], coats=coats, method=row["method"] or None, glazes=glazes),
            )
        drafts.append(
            PieceDraft(
                tile_index=row["piece"] - 1,
                code=row["code"] or None,
                kind=row["kind"],
                body_id=bodies.get(row["body"] or ""),
                layers=layers,
                shelf=row["shelf"] or None,
            )
        )
    coded = with_codes(catalog, drafts, taken)
    return file_views(catalog, item.data, item.reading, coded, load_id, item.views or {})
