"""The vocabulary of facts: which keys exist, of what type and unit, and how a value is checked."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from catalog.causes.errors import FactValueError, KnowledgeError, UnknownFactError, nearest
from catalog.firing.cones import parse_cone
from catalog.firing.errors import UnknownConeError
from catalog.package_data import read_rows
from catalog.records import FactValue

__all__ = ["Field", "check_value", "field", "fields"]

TYPES = ("number", "ratio", "fraction", "bool", "class", "cone")
_UNIT_WORDS = {
    "C": "°C",
    "C/h": "°C/h",
    "cm2": "cm²",
    "1/cm2": "per cm²",
    "wt%": "% by weight",
    "wt% MnO2": "% by weight as MnO2",
    "1e-6/K": "millionths per K",
}
"""How the table's units are written for people."""

_FRACTION_TOP = 1.0
"""A value of type fraction lies in 0..1; `image.gloss_delta` (-1..1) is a number in the table."""


@dataclass(frozen=True, slots=True)
class Field:
    """One fact of the vocabulary (a row of `data/conditions.csv`).

    `label` is the plain words a sentence uses; `allowed` is empty unless `type` is "class"; `unit` is
    empty where there is none.
    """

    name: str
    type: str
    unit: str
    allowed: tuple[str, ...]
    how_obtained: str
    note: str
    label: str

    @property
    def group(self) -> str:
        """Theme of the fact: the first part of its name."""
        return self.name.split(".", 1)[0]

    @property
    def wanted(self) -> str:
        """What a value must be, in words."""
        if self.type == "bool":
            return "true or false"
        if self.type == "class":
            return "one of " + ", ".join(self.allowed)
        if self.type == "cone":
            return 'a cone as text, such as "06" or "6"'
        if self.type == "fraction":
            return "a number from 0 to 1"
        return f"a number in {self.unit}" if self.unit else "a number"


def _field(row: Mapping[str, str], labels: Mapping[str, str]) -> Field:
    name, kind, unit = row["field"], row["type"], row["unit_or_allowed"]
    if kind not in TYPES:
        raise KnowledgeError(f"{name}: type {kind!r} is not one of {', '.join(TYPES)}")
    if name not in labels:
        raise KnowledgeError(f"{name} has no label in labels.csv")
    is_class = kind == "class"
    return Field(
        name=name,
        type=kind,
        unit="" if is_class or kind in ("bool", "cone") or unit == "-" else _UNIT_WORDS.get(unit, unit),
        allowed=tuple(unit.split("/")) if is_class else (),
        how_obtained=row["how_obtained"],
        note="" if row["note"] == "-" else row["note"],
        label=labels[name],
    )


@cache
def fields() -> Mapping[str, Field]:
    """Give the vocabulary, by name, in the table's order (cached)."""
    labels = {row["field"]: row["label"] for row in read_rows("catalog.causes", "labels.csv")}
    rows = read_rows("catalog.causes", "conditions.csv")
    found = {row["field"]: _field(row, labels) for row in rows}
    extra = labels.keys() - found.keys()
    if extra:
        raise KnowledgeError(f"labels.csv names fields that do not exist: {', '.join(sorted(extra))}")
    return found


def field(key: str) -> Field:
    """Give one field of the vocabulary.

    Raises
    ------
    UnknownFactError
        The key is not in the vocabulary; the error names the nearest one.
    """
    known = fields()
    if key not in known:
        raise UnknownFactError(key, nearest(key, known))
    return known[key]


def check_value(key: str, value: object) -> FactValue:
    """Check one fact and give its value in the vocabulary's form (cones as the ladder spells them).

    Parameters
    ----------
    key : str
        A key of the vocabulary.
    value : object
        Booleans for yes/no, numbers for measures, text for classes and cones.

    Returns
    -------
    bool, float or str

    Raises
    ------
    UnknownFactError
        The key is not in the vocabulary.
    FactValueError
        The value is of the wrong type, out of range or not one of the allowed words.
    """
    spec = field(key)
    if spec.type == "bool":
        if not isinstance(value, bool):
            raise FactValueError(key, value, spec.wanted)
        return value
    if spec.type == "class":
        if not isinstance(value, str) or value not in spec.allowed:
            raise FactValueError(key, value, spec.wanted)
        return value
    if spec.type == "cone":
        try:
            return parse_cone(value)
        except UnknownConeError as error:
            raise FactValueError(key, value, spec.wanted) from error
    return _check_number(spec, value)


def _check_number(spec: Field, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise FactValueError(spec.name, value, spec.wanted)
    try:
        number = float(value)
    except OverflowError as error:
        raise FactValueError(spec.name, "a number too large to use", spec.wanted) from error
    if not math.isfinite(number):
        raise FactValueError(spec.name, value, spec.wanted)
    if spec.type == "fraction" and not 0.0 <= number <= _FRACTION_TOP:
        raise FactValueError(spec.name, value, spec.wanted)
    return number
