"""What a package says of itself: datapackage.json (Frictionless), a JSON Schema a table, and a README."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import CheckConstraint

from catalog.exchange.shapes import Field, Shape
from catalog.tables import Base

__all__ = ["PROFILE", "datapackage", "readme", "row_schema", "title_of"]

PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
_SCHEMA = "https://json-schema.org/draft/2020-12/schema"
_IN = re.compile(r"^(\w+) IN \((.+)\)$")


def title_of(shape: Shape) -> str:
    """Give a table's own description, as its class has it."""
    for mapper in Base.registry.mappers:
        if mapper.local_table is shape.table:
            return str(mapper.class_.__doc__ or "").split("\n\n")[0].replace("\n", " ").strip()
    return ""


def _allowed(shape: Shape) -> dict[str, list[str]]:
    """Give the words that a column takes, where its check lists them."""
    found = {}
    for check in shape.table.constraints:
        if isinstance(check, CheckConstraint) and (match := _IN.match(str(check.sqltext))):
            found[match[1]] = re.findall(r"'([^']*)'", match[2])
    return found


def datapackage(
    tables: Iterable[tuple[Shape, int, int, str]],
    files: Iterable[tuple[str, int, str]],
    about: Mapping[str, Any],
) -> dict[str, Any]:
    """Give datapackage.json.

    Parameters
    ----------
    tables : (shape, rows, bytes, SHA-256) of each CSV file
    files : (path, bytes, SHA-256) of each other file
    about : what this program adds under its own name
    """
    resources: list[dict[str, Any]] = [
        {
            "name": shape.name,
            "path": f"data/{shape.name}.csv",
            "description": title_of(shape),
            "type": "table",
            "profile": "tabular-data-resource",
            "format": "csv",
            "mediatype": "text/csv",
            "encoding": "utf-8",
            "bytes": size,
            "hash": f"sha256:{sha256}",
            "rows": rows,
            "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "doubleQuote": True},
            "schema": _table_schema(shape),
        }
        for shape, rows, size, sha256 in tables
    ]
    resources += [
        {"name": _resource_name(path), "path": path, "bytes": size, "hash": f"sha256:{sha256}"}
        for path, size, sha256 in files
    ]
    return {
        "$schema": PROFILE,
        "name": "glostbook-catalogue",
        "title": "A studio's test tiles, ware, glazes and firings",
        "profile": "data-package",
        "resources": resources,
        "glostbook": dict(about),
    }


def _resource_name(path: str) -> str:
    return re.sub(r"[^a-z0-9._-]", "-", path.lower())


def _table_schema(shape: Shape) -> dict[str, Any]:
    allowed = _allowed(shape)
    schema: dict[str, Any] = {
        "fields": [_described(field, allowed.get(field.column)) for field in shape.fields],
        "missingValues": [""],
        "primaryKey": list(shape.key),
    }
    keys = [
        {"fields": [f.name], "reference": {"resource": f.target, "fields": [_points_at(f)]}}
        for f in shape.fields
        if f.target is not None
    ]
    if keys:
        schema["foreignKeys"] = keys
    return schema


def _points_at(field: Field) -> str:
    return "uid" if field.name.endswith("_uid") else "sha256"


def _described(field: Field, allowed: list[str] | None) -> dict[str, Any]:
    told: dict[str, Any] = {"name": field.name, "type": field.kind}
    if field.kind == "datetime":
        told["format"] = "%Y-%m-%dT%H:%M:%S.%fZ"
    limits: dict[str, Any] = {}
    if not field.nullable and field.kind != "string":
        limits["required"] = True
    if allowed:
        limits["enum"] = allowed
    if limits:
        told["constraints"] = limits
    return told


_JSON_TYPES: dict[str, dict[str, Any]] = {
    "string": {"type": "string"},
    "integer": {"type": "integer"},
    "number": {"type": "number"},
    "boolean": {"type": "boolean"},
    "date": {"type": "string", "format": "date"},
    "datetime": {"type": "string", "format": "date-time"},
    "object": {"type": "object"},
    "array": {"type": "array"},
}


def row_schema(shape: Shape) -> dict[str, Any]:
    """Give the JSON Schema (draft 2020-12) of one row read as an object, JSON cells parsed."""
    allowed = _allowed(shape)
    properties: dict[str, Any] = {}
    for field in shape.fields:
        told = dict(_JSON_TYPES[field.kind])
        if field.column in allowed:
            told["enum"] = [*allowed[field.column], *([None] if field.nullable else [])]
        if shape.name == "reading" and field.name == "tile":
            told = {"$ref": "tile.json"}
        elif field.nullable:
            told["type"] = [told["type"], "null"]
        properties[field.name] = told
    return {
        "$schema": _SCHEMA,
        "$id": f"{shape.name}.json",
        "title": title_of(shape),
        "type": "object",
        "properties": properties,
        "required": [field.name for field in shape.fields],
        "additionalProperties": False,
    }


_README = """# A studio's catalogue

Test tiles and ware with their photos, what the photos say, glaze recipes, clays, firings, and what people
said of faults and causes. Written by Glostbook (catalogue format {format}); all of it can be read without
Glostbook.

- `datapackage.json` describes every file by the Data Package standard (datapackage.org): size, SHA-256, and
  the columns of each table with their types, keys and references.
- `data/NAME.csv`: a table each. UTF-8, commas, lines end in CR LF, a header line. An empty cell means "not
  known". Times are UTC. Columns of type object and array hold JSON. Rows stand in the order they were kept:
  of two words on one thing the later counts.
- `schemas/NAME.json`: the JSON Schema (draft 2020-12) of a row of that table; `schemas/tile.json` that of a
  reading's `tile`, with units in the names (`_mm`, `_per_cm2`, colours in CIELAB D65/2 degree).
- `photos/`, `views/`, `logs/`: photos, straightened pictures of pieces, kiln logs, each named by the SHA-256
  of its bytes, as `photo.sha256`, `reading.view_sha256` and `load_log.sha256` name them.

**Apostrophes.** A text that begins with = + - @ (wide or narrow), a tab, a line break or an apostrophe has
one apostrophe put before it, so that no spreadsheet computes it. To undo: where a text cell begins with an
apostrophe followed by one of these, drop the first character. Numbers are left alone.

**Rows point at rows** by `uid`, which is the same in every copy of a catalogue; a column `body_uid` holds the
`uid` of a row of `body`. Photos are named by their digest.

{carries}

Figures read from photos are readings with their doubt, not laboratory results. Nothing in here says that ware
may touch food or drink.

## Tables

{tables}
"""


def readme(shapes: Iterable[Shape], catalogue_format: str, *, originals: bool) -> str:
    """Give README.md of a package."""
    carries = (
        "**Photos are the originals**, byte for byte: they carry what the phone wrote into them, such as the "
        "place (GPS), the camera's serial number and the time. Who holds a piece is in `piece_holder`."
        if originals
        else "**Photos are copies to hand on**: the picture is untouched, but place, serial numbers, names "
        "and times that a phone writes into a photo are taken out. Who holds a piece is left out."
    )
    tables = "\n".join(
        f"- `{shape.name}`: {title_of(shape)} Columns: {', '.join(field.name for field in shape.fields)}."
        for shape in shapes
    )
    return _README.format(format=catalogue_format, carries=carries, tables=tables)
