"""Changes in words: what was added, changed or removed, and of what."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from app.words.people import thing_words
from catalog.bench.codes import codes_in_short
from catalog.people.changes import Change, ChangedRow

__all__ = ["change_details", "change_words", "no_way_back_words", "who_words"]

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
    "piece_event": "stage, crack or loss",
    "glazing_layer": "layers",
    "body_measure": "measurements",
    "recipe_line": "materials",
    "leach_result": "laboratory's result",
    "judgement": "a person's word",
    "outcome": "what a cause came to",
    "trial_piece": "trial's pieces",
}
_UNSAID = {"glazing_before", "glazing_piece"}
"""Kept to undo a glazing, or said by the glazing's own name already."""

_COLUMNS = {
    "body": "clay",
    "code_key": "",
    "name_key": "",
    "sg": "gravity",
    "cone_aimed": "cone aimed at",
    "rated_cone": "matures at cone",
    "superseded_by": "replaced by another reading",
    "left_at": "left",
    "tile_index": "",
    "colour_method": "",
    "calibration_kind": "colours by",
    "residual_delta_e_00": "colours off by",
    "mm_per_px": "mm a pixel",
}
_UNITS = {"_mm": "mm", "_cm2": "cm²", "_c": "°C", "_min": "min", "_pct": "%", "_g": "g"}
"""End of a column's name -> the unit that stands behind its value instead."""
_DONE = {"added": "new", "changed": "changed", "removed": "removed"}
_TAKEN = {"deleted_at": ("taken off the shelf", "brought back"), "removed_at": ("taken back", "brought back")}
_SHORT = {
    "uid",
    "id",
    "position",
    "entry",
    "kind",
    "glazing_id",
    "photo_sha256",
    "view_sha256",
    "code_key",
    "name_key",
}
"""Columns of a new or removed row that say nothing to a person."""

_LONGEST = 60
_TOLD_OF_NEW = 5
_MOST_DETAILS = 12


def who_words(who: str) -> str:
    """Give who did it; no name stands where nobody was asked for theirs."""
    return who or "no name given"


def change_words(change: Change) -> str:
    """Give one line that says what a change was."""
    start = "" if change.takes_back is None else f"took back change {change.takes_back}: "
    if not change.rows:
        counts = ", ".join(f"{count} {_table(name)}" for name, count in change.counts.items())
        return f"{start}much at once ({counts})"
    things: dict[tuple[str, str], list[str]] = {}
    for row in change.rows:
        if row.table not in _UNSAID:
            things.setdefault((row.thing, row.label), []).append(_part(row))
    alike: dict[tuple[str, str], list[str]] = {}
    for (thing, label), parts in things.items():
        alike.setdefault((thing, _together(parts)), []).append(label)
    # A batch of glazing says most of what was done with it, so it comes first.
    told = [
        f"{_many(thing, labels)}: {done}"
        for (thing, done), labels in sorted(alike.items(), key=lambda each: each[0][0] != "glazing")
    ]
    more = f"; and {len(told) - 3} more" if len(told) > 3 else ""
    return start + "; ".join(told[:3]) + more


def _many(thing: str, labels: list[str]) -> str:
    if len(labels) == 1 or thing != "piece":
        return ", ".join(thing_words(thing, label) for label in labels)
    return f"pieces {codes_in_short(labels)}"


def _together(parts: list[str]) -> str:
    """Give what happened to a thing: what is new or gone is so with all its parts."""
    whole = [word for word in (_DONE["added"], _DONE["removed"]) if word in parts]
    return whole[0] if whole else ", ".join(dict.fromkeys(part for part in parts if part))


def no_way_back_words(change: Change) -> str:
    """Say why taking a change back is not offered, empty where it is."""
    if change.takes_back is not None:
        return "To make that change again, make it where it was made first."
    if change.is_back:
        return "It was taken back already."
    if not change.rows:
        return "It changed too much at once to be kept row by row, so it cannot be taken back here."
    if any(row.table == "person" for row in change.rows):
        return "People are changed where they are listed."
    if not change.mine:
        return "Whose it is, or a keeper, may take it back."
    return ""


def _table(name: str) -> str:
    table, _, kind = name.rpartition(" ")
    return f"{table.replace('_', ' ')} {_DONE.get(kind, kind)}"


def _part(row: ChangedRow) -> str:
    if row.table == row.thing:
        for mark, (gone, back) in _TAKEN.items():
            if row.kind == "changed" and mark in row.after:
                return gone if row.after[mark] else back
        if row.kind == "changed":
            return ", ".join(words for name in row.after if (words := _column(name))) or "changed"
        return _DONE[row.kind]
    part = _PARTS.get(row.table, row.table.replace("_", " "))
    return f"{part} {_DONE[row.kind]}"


def _column(name: str) -> str:
    plain = name.removesuffix("_id")
    if plain in _COLUMNS:
        return _COLUMNS[plain]
    return plain.removesuffix(_end(plain)).replace("_", " ")


def _end(name: str) -> str:
    return next((end for end in _UNITS if name.endswith(end)), "")


def change_details(change: Change) -> list[tuple[str, str]]:
    """Give each changed value as how it was and became, and of a new or removed row what it held."""
    found = []
    for row in change.rows:
        if row.table in _UNSAID:
            continue
        what = thing_words(row.thing, row.label)
        if row.kind == "changed":
            for name in row.after:
                if name in _TAKEN:
                    found.append((what, _part(row)))
                elif _column(name):
                    before, after = _value(row, row.before, name), _value(row, row.after, name)
                    found.append((f"{what}, {_column(name)}", f"{before} → {after}"))
        else:
            part = "" if row.table == row.thing else f", {_PARTS.get(row.table, row.table.replace('_', ' '))}"
            found.append((f"{what}{part}", f"{_DONE[row.kind]}{_said(row)}"))
    if len(found) > _MOST_DETAILS:
        found = [*found[:_MOST_DETAILS], ("and more", f"{len(found) - _MOST_DETAILS} such lines")]
    return found


def _said(row: ChangedRow) -> str:
    values = row.after or row.before
    told = [
        f"{_column(name)} {_value(row, values, name)}"
        for name, value in values.items()
        if _column(name)
        and name not in _SHORT
        and not name.endswith("_at")
        and name != f"{row.thing}_id"
        and isinstance(value, str | int | float)
        and not isinstance(value, bool)
        and value != ""
    ]
    return f": {', '.join(told[:_TOLD_OF_NEW])}" if told else ""


def _value(row: ChangedRow, values: Mapping[str, Any], name: str) -> str:
    value = values.get(name)
    named = row.called.get((name, value)) if isinstance(value, int) else None
    text = "nothing" if value in (None, "", {}, []) else named or _plain(value)
    if isinstance(value, int | float) and name not in _COLUMNS and (end := _end(name)):
        text = f"{text} {_UNITS[end]}"
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"


def _plain(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key.replace('.', ' ').replace('_', ' ')} {_plain(v)}" for key, v in value.items())
    if isinstance(value, list):
        return ", ".join(_plain(v) for v in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{round(value, 3):g}"
    return str(value)
