"""Rows of the database as rows of a package: numbers give way to uids, in the order they were kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog.exchange.shapes import Shape, shapes

__all__ = ["SEARCHED_ANEW", "code_counter", "package_rows", "uid_maps", "with_recipes"]

SEARCHED_ANEW = "colours"
"""The counter that says how old a copy of the colours is; only those of codes given travel."""


def code_counter(name: str) -> bool:
    """Tell whether a counter is one of codes given to labels."""
    return name.startswith("code:")


def uid_maps(session: Session) -> dict[str, dict[int, str]]:
    """Give the uid of each numbered row, by table and number."""
    return {
        shape.name: {
            int(number): str(uid)
            for number, uid in session.execute(select(shape.table.c.id, shape.table.c.uid))
        }
        for shape in shapes()
        if shape.numbered and "uid" in shape.table.columns
    }


def package_rows(
    session: Session,
    shape: Shape,
    uids: Mapping[str, Mapping[int, str]],
    renamed: Mapping[str, str] | None = None,
) -> Iterator[dict[str, Any]]:
    """Give a table's rows by field, in the order of their numbers.

    Parameters
    ----------
    uids : as `uid_maps`
    renamed : digests of files that go out under another one
    """
    names = renamed or {}
    query = select(shape.table).order_by(*shape.table.primary_key.columns)
    for row in session.execute(query).mappings():
        if shape.name == "counter" and not code_counter(row["name"]):
            continue
        found: dict[str, Any] = {}
        for field in shape.fields:
            value = row[field.column]
            if field.target is not None and field.name != field.column and value is not None:
                value = uids[field.target][value]
            elif isinstance(value, str) and field.column in ("sha256", "photo_sha256", "view_sha256"):
                value = names.get(value, value)
            found[field.name] = value
        if shape.name == "leach_result":
            found["make"] = with_recipes(found["make"], uids["recipe"])
        yield found


def with_recipes(make: Mapping[str, Any], names: Mapping[Any, Any]) -> dict[str, Any]:
    """Give how a tested piece was made (`catalog.ware.make`) with its recipes named anew.

    A recipe that `names` lacks becomes None, so that the result holds for no other piece.
    """
    layers = make.get("layers", [])
    return {
        **make,
        "layers": [[names.get(layer[0]), *layer[1:]] if layer else layer for layer in layers],
    }
