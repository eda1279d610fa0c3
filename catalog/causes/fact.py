"""A fact: one key of the vocabulary with its value, where it came from and how sure it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from catalog.causes.vocabulary import check_value, field
from catalog.package_data import read_rows
from catalog.records import FactValue

__all__ = ["Fact", "Origin", "checked", "completed", "in_words", "show_value"]

_UNITLESS = frozenset({"", "0-1", "-1..1", "count"})


class Origin(StrEnum):
    """Where a fact came from."""

    MEASURED = "measured"
    COMPUTED = "computed"
    RECORDED = "recorded"
    ANSWERED = "answered"
    INFERRED = "inferred"


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact.

    Attributes
    ----------
    key : str
        A key of the vocabulary.
    value : bool, float or str
        In the vocabulary's form.
    origin : Origin
        Measured on the photo, computed, recorded in the catalogue, answered by a person, or inferred
        from other facts or pieces.
    sentence : str
        The fact as a plain sentence with its value, without a full stop at the end.
    certainty : float
        0 to 1. Evidence counts by this much: with ratio R and certainty p it becomes p R + (1 - p).
    """

    key: str
    value: FactValue
    origin: Origin
    sentence: str
    certainty: float = 1.0


def show_value(key: str, value: FactValue) -> str:
    """Give a value as words: yes/no, "cone 6", or a number with its unit."""
    spec = field(key)
    if spec.type == "bool":
        return "yes" if value else "no"
    if spec.type == "cone":
        return f"cone {value}"
    if isinstance(value, int | float):
        unitless = spec.unit in _UNITLESS or spec.unit.startswith("mol")
        unit = "" if unitless else spec.unit
        if unit == "cone steps":
            unit = "cone" if abs(value) == 1.0 else "cones"
        digits = f"{value:.0f}" if abs(value) >= 100.0 else f"{value:.3g}"
        return f"{digits} {unit}".strip()
    return str(value).replace("_", " ")


def _plain(key: str, value: FactValue, origin: Origin) -> Fact:
    return Fact(key, value, origin, f"{field(key).label}: {show_value(key, value)}")


def checked(facts: Mapping[str, FactValue | Fact], origin: Origin = Origin.ANSWERED) -> dict[str, Fact]:
    """Check facts against the vocabulary and give each as a `Fact`.

    Parameters
    ----------
    facts : mapping of str to value or Fact
        Plain values get `origin` and a sentence made from the vocabulary's label.
    origin : Origin
        Where plain values came from.

    Raises
    ------
    UnknownFactError
        A key is not in the vocabulary; the error names the nearest known one.
    FactValueError
        A value does not fit its key.
    """
    found: dict[str, Fact] = {}
    for key, given in facts.items():
        if isinstance(given, Fact):
            check_value(key, given.value)
            found[key] = given
        else:
            found[key] = _plain(key, check_value(key, given), origin)
    return found


def completed(facts: Mapping[str, Fact]) -> dict[str, Fact]:
    """Add the facts that follow from others (defects.md section 7).

    When the glaze's range is not known, the cone aimed at stands for it: `firing.cone_over_range` is
    `firing.cone_over_target` and `firing.cone_under_range` its negative. When only one end of the range is
    known and the kiln went past it, the other end was missed by at least as much the other way.

    Words stand for numbers where no number is known ("thick" for 1.3 mm, "hotter" for one cone), with the
    lower certainty of `data/words.csv`.
    """
    found = dict(facts)
    for key, word, other, value, certainty in _words():
        if key in facts and other not in facts and _said(facts[key].value) == word:
            spoken = facts[key]
            text = f"{spoken.sentence}; taken for {show_value(other, value)}, less sure than a figure"
            if certainty == 1.0:
                text = spoken.sentence
            found[other] = Fact(other, value, Origin.INFERRED, text, certainty * spoken.certainty)
    over, under, target = "firing.cone_over_range", "firing.cone_under_range", "firing.cone_over_target"
    if target in found and over not in found and under not in found:
        basis = found[target]
        for key, sign in ((over, 1.0), (under, -1.0)):
            _follow(
                found, key, sign, basis, "the glaze's range is not known, the cone aimed at stands for it"
            )
    for known, other in ((over, under), (under, over)):
        if known in found and other not in found and float(found[known].value) > 0:
            _follow(found, other, -1.0, found[known], "so the range's other end was missed the other way")
    return found


def _said(value: FactValue) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


@cache
def _words() -> tuple[tuple[str, str, str, FactValue, float], ...]:
    """Give the words that stand for numbers: key, word, the fact it stands for, its value, certainty."""
    rows = []
    for row in read_rows("catalog.causes", "words.csv"):
        other = row["stands_for"]
        written = row["value"]
        value: FactValue = written == "true" if field(other).type == "bool" else float(written)
        field(row["field"])
        rows.append((row["field"], row["word"], other, check_value(other, value), float(row["certainty"])))
    return tuple(rows)


@cache
def in_words(key: str) -> str | None:
    """Give the fact under which a word can stand for this one ("thick" for millimetres), None without one."""
    for spoken, _, other, _, _ in _words():
        if other == key and field(spoken).type == "class":
            return spoken
    return None


def _follow(found: dict[str, Fact], key: str, sign: float, basis: Fact, why: str) -> None:
    value = sign * float(basis.value) + 0.0
    text = f"{basis.sentence}; {why}"
    found[key] = Fact(key, value, Origin.INFERRED, text, basis.certainty)
