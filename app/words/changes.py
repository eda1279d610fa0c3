"""Changes in words: what was added, changed or removed, and of what."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from app.words.people import thing_words
from catalog.people.changes import Change, ChangedRow

__all__ = ["change_details", "change_words", "who_words"]

_PARTS = {
    "layer": "layers",
    "load_cone": "witness cones",
    "load_witness": "witness cones",
    "load_segment": "schedule",
    "load_log": "kiln log",
    "load_bisque": "bisque before",
    "piece_side": "place in the kiln",
    "piece_holder": "who has it",
    "piece_batch": "bucket or clay lot",
    "body_measure": "measurements",
    "recipe_line": "materials",
    "leach_result": "laboratory's result",
}
_DONE = {"added": "new", "changed": "changed", "removed": "removed"}
_LONGEST = 60


def who_words(who: str) -> str:
    """Give who did it; nobody's name stands where nobody was asked."""
    return who or "(not asked)"


def change_words(change: Change) -> str:
    """Give one line that says what a change was."""
    start = "" if change.takes_back is None else f"took back change {change.takes_back}: "
    if not change.rows:
        counts = ", ".join(f"{count} {_table(name)}" for name, count in change.counts.items())
        return f"{start}much at once ({counts})"
    things: dict[tuple[str, str], list[str]] = {}
    for row in change.rows:
        things.setdefault((row.thing, row.label), []).append(_part(row))
    told = [f"{thing_words(*thing)}: {', '.join(dict.fromkeys(parts))}" for thing, parts in things.items()]
    more = f"; and {len(told) - 3} more" if len(told) > 3 else ""
    return start + "; ".join(told[:3]) + more


def _table(name: str) -> str:
    table, _, kind = name.rpartition(" ")
    return f"{table.replace('_', ' ')} {_DONE.get(kind, kind)}"


def _part(row: ChangedRow) -> str:
    if row.table == row.thing:
        for mark, words in (("deleted_at", "taken off the shelf"), ("removed_at", "taken back")):
            if row.kind == "changed" and mark in row.after:
                return words if row.after[mark] else "brought back"
        if row.kind == "changed":
            return ", ".join(_column(name) for name in row.after) or "changed"
        return _DONE[row.kind]
    part = _PARTS.get(row.table, row.table.replace("_", " "))
    return f"{part} {_DONE[row.kind]}"


def _column(name: str) -> str:
    return name.removesuffix("_id").replace("_", " ")


def change_details(change: Change) -> list[tuple[str, str]]:
    """Give each changed value as what it is of, and how it was and became."""
    found = []
    for row in change.rows:
        if row.kind == "changed":
            what = f"{thing_words(row.thing, row.label)}, " if row.label else ""
            for name in row.after:
                before, after = _value(row.before, name), _value(row.after, name)
                found.append((f"{what}{_column(name)}", f"{before} → {after}"))
    return found


def _value(values: Mapping[str, Any], name: str) -> str:
    value = values.get(name)
    text = "nothing" if value in (None, "", {}, []) else _plain(value)
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"


def _plain(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key.replace('.', ' ').replace('_', ' ')} {_plain(v)}" for key, v in value.items())
    if isinstance(value, list):
        return ", ".join(_plain(v) for v in value)
    return str(value)
