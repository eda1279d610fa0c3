"""What may be kept: each value a person gives is checked here once, and refused with what is wanted."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime

from catalog.errors import InvalidRecordError
from catalog.records import ConeResult, FactValue, Layer, RecipeLine, Segment

__all__ = [
    "checked_amount",
    "checked_choice",
    "checked_code",
    "checked_cone",
    "checked_cones",
    "checked_day",
    "checked_facts",
    "checked_layers",
    "checked_lines",
    "checked_name",
    "checked_segments",
    "code_key",
]

NAME_LIMIT = 200
CODE_LIMIT = 40


def checked_name(field: str, value: str) -> str:
    """Give a name without outer blanks and line breaks.

    Raises
    ------
    InvalidRecordError : empty or longer than 200 characters.
    """
    name = " ".join(str(value).split())
    if not name or len(name) > NAME_LIMIT:
        raise InvalidRecordError(field, value, f"a name of 1 to {NAME_LIMIT} characters")
    return name


def checked_code(value: str) -> str:
    """Give a piece's code without outer blanks; none stand inside, so that a label reads as one word."""
    code = str(value).strip()
    if not code or len(code) > CODE_LIMIT or len(code.split()) != 1 or not code.isprintable():
        raise InvalidRecordError("code", value, f"one word of 1 to {CODE_LIMIT} characters, such as T-0042")
    return code


def code_key(code: str) -> str:
    """Give what two spellings of one code share: t-0042 is T-0042."""
    return code.strip().casefold()


def checked_choice(field: str, value: str, allowed: Sequence[str]) -> str:
    """Give the value back if it is one of `allowed`."""
    if str(value) not in allowed:
        raise InvalidRecordError(field, value, "one of " + ", ".join(allowed))
    return str(value)


def checked_day(field: str, value: date | None) -> date | None:
    """Give the day back if it is not still to come, here or at Greenwich.

    Raises
    ------
    InvalidRecordError : it is still to come.
    """
    if value is not None and value > max(date.today(), datetime.now(UTC).date()):
        raise InvalidRecordError(field, value, "a day that has come, not one still to come")
    return value


def checked_cone(field: str, value: str | None) -> str | None:
    """Give a cone as text. A number is refused: 06 and 6 are over 200 degrees apart."""
    if value is None:
        return None
    if not isinstance(value, str):
        raise InvalidRecordError(field, value, 'a cone as text, such as "06" or "6"')
    cone = value.strip()
    if not cone:
        return None
    if len(cone) > 12 or not any(c.isdigit() for c in cone):
        raise InvalidRecordError(field, value, 'a cone as text, such as "06" or "6"')
    return cone


def checked_amount(
    field: str, value: float | None, *, low: float = 0.0, high: float = math.inf
) -> float | None:
    """Give a finite number between `low` and `high`, or None for "not measured"."""
    if value is None:
        return None
    wanted = f"a number from {low:g}" + ("" if math.isinf(high) else f" to {high:g}")
    if isinstance(value, (bool, str)):
        raise InvalidRecordError(field, value, wanted)
    number = float(value)
    if not math.isfinite(number) or not low <= number <= high:
        raise InvalidRecordError(field, value, wanted)
    return number


def checked_facts(facts: Mapping[str, FactValue]) -> dict[str, FactValue]:
    """Give facts ready to keep: names with a dot, values true/false, a finite number or a word."""
    kept: dict[str, FactValue] = {}
    for key, value in facts.items():
        kept[checked_fact_key(key)] = checked_fact(key, value)
    return kept


def checked_fact_key(key: str) -> str:
    """Give the name of a fact, such as ``application.coats``."""
    name = str(key).strip()
    if "." not in name or len(name.split()) != 1:
        raise InvalidRecordError("fact", key, "a fact's name, such as application.coats")
    return name


def checked_fact(key: str, value: FactValue) -> FactValue:
    """Give the value of a fact: true or false, a finite number or a word."""
    if isinstance(value, bool):
        return value
    if isinstance(value, str):
        if value.strip():
            return value.strip()
    elif isinstance(value, (int, float)) and math.isfinite(value):
        return value
    raise InvalidRecordError(key, value, "true or false, a number or a word; leave unknown facts out")


def checked_lines(lines: Iterable[RecipeLine]) -> tuple[RecipeLine, ...]:
    """Give the lines of a recipe: at least one, each with a material and an amount of zero or more."""
    kept = tuple(
        RecipeLine(
            checked_name("material", line.material),
            _required("amount", checked_amount("amount", line.amount)),
            bool(line.addition),
        )
        for line in lines
    )
    if not kept:
        raise InvalidRecordError("lines", (), "at least one material with its amount")
    if not any(line.amount > 0 for line in kept):
        raise InvalidRecordError("lines", [line.amount for line in kept], "at least one amount above zero")
    return kept


def checked_layers(layers: Iterable[Layer]) -> tuple[Layer, ...]:
    """Give the layers of a piece; a layer without a recipe needs a name."""
    kept = []
    for layer in layers:
        if layer.recipe_id is None and not layer.name.strip():
            raise InvalidRecordError("layer", layer.name, "a recipe or the name of the glaze")
        coats = checked_amount("coats", layer.coats)
        if coats is not None and coats != int(coats):
            raise InvalidRecordError("coats", layer.coats, "a whole number of coats")
        kept.append(
            Layer(
                recipe_id=layer.recipe_id,
                name=" ".join(layer.name.split()),
                coats=None if coats is None else int(coats),
                method=_word(layer.method),
                raw_thickness_mm=checked_amount("raw_thickness_mm", layer.raw_thickness_mm),
            )
        )
    return tuple(kept)


def checked_cones(cones: Iterable[ConeResult]) -> tuple[ConeResult, ...]:
    """Give the witness cones of a load."""
    kept = []
    for result in cones:
        cone = checked_cone("cone", result.cone)
        if cone is None:
            raise InvalidRecordError("cone", result.cone, 'the cone reached, as text, such as "6"')
        kept.append(ConeResult(result.shelf.strip(), cone, result.note.strip()))
    return tuple(kept)


def checked_segments(segments: Iterable[Segment]) -> tuple[Segment, ...]:
    """Give the segments of a schedule; a rate below zero cools. Degrees up to 1500 C, holds up to a week."""
    kept = []
    for segment in segments:
        rate = _required(
            "rate_c_per_h", checked_amount("rate_c_per_h", segment.rate_c_per_h, low=-9999, high=9999)
        )
        target = _required("target_c", checked_amount("target_c", segment.target_c, low=-20, high=1500))
        hold = _required("hold_min", checked_amount("hold_min", segment.hold_min, high=7 * 24 * 60))
        kept.append(Segment(rate, target, hold))
    return tuple(kept)


def _required(field: str, value: float | None) -> float:
    if value is None:
        raise InvalidRecordError(field, value, "a number")
    return value


def _word(value: str | None) -> str | None:
    return value.strip() or None if value is not None else None
