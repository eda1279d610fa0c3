"""Values as cells of a CSV file, and back; no cell that a spreadsheet would take for a formula."""

from __future__ import annotations

import json
import math
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import JSON, Boolean, Column, Date, Float, Integer

from catalog.columns import UtcDateTime

__all__ = ["ESCAPED", "escaped", "from_cell", "kind_of", "plain", "to_cell"]

ESCAPED = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", "'")
"""A text that begins so gets an apostrophe in front: spreadsheets would compute it (OWASP, "CSV Injection";
the full-width signs are taken for the narrow ones by some); the apostrophe too, so that it can be undone."""

_ARRAYS = frozenset({"intended", "photo_flags"})


def kind_of(column: Column[Any]) -> str:
    """Give a column's Frictionless type: string, integer, number, boolean, date, datetime, object, array."""
    if isinstance(column.type, UtcDateTime):
        return "datetime"
    if isinstance(column.type, JSON):
        return "array" if column.name in _ARRAYS else "object"
    for type_, kind in ((Boolean, "boolean"), (Date, "date"), (Integer, "integer"), (Float, "number")):
        if isinstance(column.type, type_):
            return kind
    return "string"


def escaped(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would compute."""
    return f"'{text}" if text.startswith(ESCAPED) else text


def plain(text: str) -> str:
    """Undo `escaped`."""
    return text[1:] if text.startswith("'") and text[1:].startswith(ESCAPED) else text


def to_cell(value: Any, kind: str) -> str:
    """Give a value as a cell; None is an empty one."""
    if value is None:
        return ""
    match kind:
        case "boolean":
            return "true" if value else "false"
        case "datetime":
            return f"{value.astimezone(UTC).replace(tzinfo=None).isoformat(timespec='microseconds')}Z"
        case "date":
            return str(value.isoformat())
        case "number":
            return repr(float(value))
        case "object" | "array":
            return json.dumps(
                value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
            )
        case "integer":
            return str(int(value))
        case _:
            return escaped(str(value))


def from_cell(text: str, kind: str) -> Any:
    """Give a cell's value; of kinds other than "string" an empty cell is None.

    Raises
    ------
    ValueError : not of this kind; the message says what is wanted.
    """
    if kind == "string":
        return plain(text)
    if text == "":
        return None
    match kind:
        case "boolean":
            if text not in ("true", "false"):
                raise ValueError(f"{text[:40]!r} given, true or false wanted")
            return text == "true"
        case "datetime":
            moment = datetime.fromisoformat(text)
            if moment.tzinfo is None:
                raise ValueError(f"{text[:40]!r} given, a moment with its zone wanted")
            return moment
        case "date":
            return date.fromisoformat(text)
        case "integer":
            number = int(text)
            if abs(number) >= 2**63:
                raise ValueError(f"{text[:40]!r} is too large")
            return number
        case "number":
            value = float(text)
            if not math.isfinite(value):
                raise ValueError(f"{text[:40]!r} given, a finite number wanted")
            return value
    return _from_json(text, kind)


def _from_json(text: str, kind: str) -> Any:
    def refuse(word: str) -> None:
        raise ValueError(f"{word} is no JSON")

    try:
        found = json.loads(text, parse_constant=refuse)
    except RecursionError as error:
        raise ValueError("JSON nested too deeply") from error
    wanted = dict if kind == "object" else list
    if not isinstance(found, wanted):
        raise ValueError(f"a JSON {kind} wanted")
    return found
