"""What the catalogue holds already, to tell whether a package's row is one of these.

Two catalogues that grew apart may hold one thing twice. A row is known by its uid; without it by what it is:
a clay, glaze or material of the same name and content, a dated firing of the same name in the same kiln, a
piece of the same code in the same photo, a reading of the same tile by the same method.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog import values
from catalog.exchange.shapes import Shape, shape_of
from catalog.studio import content_digest
from catalog.tables import LineRow, RecipeRow

__all__ = ["Here", "recipe_digest"]

_SAME_BODY = ("kind", "rated_cone", "absorption_pct", "facts", "notes")
_SAME_MATERIAL = ("oxides", "loi_pct", "basis", "fluorine_pct", "moisture_pct", "lot", "gas_like", "source")


def recipe_digest(columns: Mapping[str, Any], lines: list[Mapping[str, Any]]) -> str:
    """Give the digest of a recipe's revision as `catalog.studio` keeps it."""
    row = RecipeRow(
        intended=list(columns["intended"]),
        facts=dict(columns["facts"]),
        cone_low=columns["cone_low"],
        cone_high=columns["cone_high"],
        notes=columns["notes"],
    )
    row.lines = [
        LineRow(material=line["material"], amount=line["amount"], addition=line["addition"])
        for line in sorted(lines, key=lambda each: int(each["position"]))
    ]
    return content_digest(row)


class Here:
    """The catalogue's own rows, read once; asked before a row of a package is added."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._rows: dict[str, dict[tuple[Any, ...], dict[str, Any]]] = {}
        self._numbers: dict[str, dict[int, dict[str, Any]]] = {}
        self._codes: dict[str, dict[str, Any]] | None = None
        self._by_piece: dict[int, list[dict[str, Any]]] | None = None
        self.empty = not self.rows(shape_of("piece")) and not self.rows(shape_of("load"))

    def rows(self, shape: Shape) -> dict[tuple[Any, ...], dict[str, Any]]:
        """Give a table's rows by the columns of its key."""
        if shape.name not in self._rows:
            columns = [shape.field(name).column for name in shape.key]
            found = self._session.execute(select(shape.table)).mappings()
            self._rows[shape.name] = {tuple(row[c] for c in columns): dict(row) for row in found}
        return self._rows[shape.name]

    def row(self, shape: Shape, number: int) -> dict[str, Any]:
        """Give a row by its number."""
        if shape.name not in self._numbers:
            self._numbers[shape.name] = {int(row["id"]): row for row in self.rows(shape).values()}
        return self._numbers[shape.name][number]

    def names(self, table: str) -> set[str]:
        """Give the name keys of clays, glazes or materials."""
        return {str(row["name_key"]) for row in self.rows(shape_of(table)).values()}

    def taken(self, table: str, name_key: str) -> set[int]:
        """Give the revisions of a name that are taken."""
        rows = self.rows(shape_of(table)).values()
        return {int(row["revision"]) for row in rows if row["name_key"] == name_key}

    def standing_code(self, code: str) -> dict[str, Any] | None:
        """Give the piece on the shelf that has a code."""
        if self._codes is None:
            rows = self.rows(shape_of("piece")).values()
            self._codes = {row["code_key"]: row for row in rows if row["deleted_at"] is None}
        return self._codes.get(values.code_key(code))

    def same(self, table: str, columns: Mapping[str, Any], photos: frozenset[str]) -> int | None:
        """Give the number of the row here that a package's row is, though their uids differ.

        Parameters
        ----------
        columns : the row, its references already numbers of this catalogue
        photos : of a piece, the digests of its photos in the package
        """
        rows = self.rows(shape_of(table)).values()
        match table:
            case "body":
                found = (r for r in rows if _named(r, columns) and _equal(r, columns, _SAME_BODY))
            case "material":
                found = (r for r in rows if _named(r, columns) and _equal(r, columns, _SAME_MATERIAL))
            case "recipe":
                found = (r for r in rows if _named(r, columns) and r["content"] == columns["content"])
            case "load":
                found = (r for r in rows if _same_load(r, columns))
            case "piece":
                holder = self.standing_code(columns["code"])
                found = (r for r in [holder] if r is not None and photos & self._photos(r["id"]))
            case "reading":
                same = ("photo_sha256", "tile_index", "method")
                found = (r for r in self._readings(columns["piece_id"]) if _equal(r, columns, same))
            case _:
                return None
        row = next(found, None)
        return None if row is None else int(row["id"])

    def word(self, table: str, columns: Mapping[str, Any]) -> dict[str, Any] | None:
        """Give what a person here said of the same thing: a judgement, an answer, a clay's measure."""
        on = _WORDS.get(table)
        if on is None:
            return None
        rows = self.rows(shape_of(table)).values()
        standing = (r for r in rows if r.get("removed_at") is None and _equal(r, columns, on))
        return next(standing, None)

    def _photos(self, piece_id: int) -> frozenset[str]:
        return frozenset(str(row["photo_sha256"]) for row in self._readings(piece_id))

    def _readings(self, piece_id: int) -> list[dict[str, Any]]:
        if self._by_piece is None:
            self._by_piece = defaultdict(list)
            for row in self.rows(shape_of("reading")).values():
                self._by_piece[row["piece_id"]].append(row)
        return self._by_piece.get(piece_id, [])


_WORDS = {
    "judgement": ("piece_id", "about", "subject"),
    "answer": ("piece_id", "fact"),
    "body_measure": ("body_id", "kind"),
}


def _named(row: Mapping[str, Any], columns: Mapping[str, Any]) -> bool:
    return bool(row["name_key"] == columns["name"].casefold())


def _equal(row: Mapping[str, Any], columns: Mapping[str, Any], names: tuple[str, ...]) -> bool:
    return all(row[name] == columns.get(name) for name in names)


def _same_load(row: Mapping[str, Any], columns: Mapping[str, Any]) -> bool:
    return (
        columns["fired_on"] is not None
        and _equal(row, columns, ("fired_on", "kind"))
        and row["name"].casefold() == columns["name"].casefold()
        and row["kiln"].casefold() == columns["kiln"].casefold()
    )
