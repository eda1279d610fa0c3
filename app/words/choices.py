"""Dates, numbers and units as the reader likes them. What is kept and computed stays in SI.

The choice holds for the thread it was made in: a screen sets it once a run, a command leaves the usual one.
"""

from __future__ import annotations

import re
from contextvars import ContextVar
from datetime import date
from functools import lru_cache

from catalog.choices import Choices
from catalog.shown_units import (
    c_difference_of_shown,
    c_of_shown,
    mm_of_shown,
    shown_c,
    shown_c_difference,
    shown_mm,
)

__all__ = [
    "chosen",
    "date_pattern",
    "day_words",
    "degrees",
    "degrees_unit",
    "difference",
    "figure",
    "length",
    "length_unit",
    "locale_names",
    "marks",
    "number",
    "percent",
    "rate",
    "shown_length",
    "size",
    "span",
    "spans",
    "temperatures",
    "told_figure",
    "told_length",
    "unit_words",
    "use_choices",
]

_USUAL = "en_GB"
_STANDING = Choices(locale=_USUAL)
_NOW: ContextVar[Choices] = ContextVar("choices", default=_STANDING)  # frozen
_OFFERED = (
    "en_GB",
    "en_US",
    "de",
    "fr",
    "it",
    "es",
    "nl",
    "da",
    "sv",
    "pl",
    "pt",
    "cs",
    "el",
    "ja",
    "ko",
    "zh",
)


def use_choices(choices: Choices, readers_locale: str | None = None) -> None:
    """Set how figures are shown from here on in this thread.

    Parameters
    ----------
    choices : as kept; without a locale the reader's own counts
    readers_locale : as a browser says it, such as "de-AT"
    """
    name = choices.locale or _known(readers_locale or "") or _USUAL
    _NOW.set(Choices(name if _known(name) else _USUAL, choices.temperature, choices.length))


def chosen() -> Choices:
    """Give how figures are shown now."""
    return _NOW.get()


@lru_cache(maxsize=64)
def _known(name: str) -> str | None:
    if not name:
        return None
    from babel import Locale, UnknownLocaleError

    try:
        return str(Locale.parse(name.replace("-", "_"), sep="_"))
    except (ValueError, UnknownLocaleError):
        return None


def locale_names(kept: str = "") -> dict[str, str]:
    """Give the languages offered and the one kept, each in its own words."""
    from babel import Locale

    names = dict.fromkeys((*_OFFERED, *([kept] if _known(kept) else ())))
    return {name: str(Locale.parse(name).get_display_name()).capitalize() for name in names}


def day_words(day: date) -> str:
    """Give a day in words, such as "19 October 2026"."""
    from babel.dates import format_date

    return str(format_date(day, "long", locale=_NOW.get().locale))


def date_pattern() -> str:
    """Give the pattern of a date field: one of those that the screen knows, nearest to the locale's."""
    from babel import Locale

    pattern = str(Locale.parse(_NOW.get().locale).date_formats["short"].pattern)
    order = sorted("dMy", key=pattern.find)
    wanted = {"y": "YYYY/MM/DD", "d": "DD/MM/YYYY", "M": "MM/DD/YYYY"}[order[0]]
    mark = next((mark for mark in "./-" if mark in pattern), "/")
    return wanted.replace("/", mark)


def number(value: float, decimals: int = 0, *, sign: bool = False) -> str:
    """Give a number with this many decimals, its marks as the locale has them."""
    from babel.numbers import format_decimal

    pattern = "0." + "0" * decimals if decimals else "0"
    return str(format_decimal(value, f"+{pattern};-{pattern}" if sign else pattern, locale=_NOW.get().locale))


def percent(share: float, decimals: int = 0) -> str:
    """Give a share, 0..1, in per cent."""
    return f"{number(100 * share, decimals)} %"


def figure(value: float) -> str:
    """Give a number with the decimals it has, six at most, its marks as the locale has them."""
    from babel.numbers import format_decimal

    return str(format_decimal(value, "0.######", locale=_NOW.get().locale))


def marks(sentence: str) -> str:
    """Give a sentence written elsewhere with its decimal marks as the locale has them; cones stay."""
    from babel.numbers import get_decimal_symbol

    mark = get_decimal_symbol(_NOW.get().locale)
    return re.sub(r"(\b[Cc]ones? \d+\.)|(?<=\d)\.(?=\d)", lambda found: found[1] or mark, sentence)


def degrees_unit() -> str:
    """Give "°C" or "°F"."""
    return f"°{_NOW.get().temperature}"


def degrees(temperature_c: float, decimals: int = 0) -> str:
    """Give a temperature with its unit."""
    return f"{number(shown_c(temperature_c, _NOW.get().temperature), decimals)} {degrees_unit()}"


def rate(rate_c_per_h: float) -> str:
    """Give a rate of heating or cooling with its unit."""
    shown = shown_c_difference(rate_c_per_h, _NOW.get().temperature)
    return f"{number(shown)} {degrees_unit()} per hour"


def difference(difference_c: float) -> str:
    """Give a difference of temperatures with sign and unit."""
    shown = shown_c_difference(difference_c, _NOW.get().temperature)
    return f"{number(shown, sign=True)} {degrees_unit()}"


def span(difference_c: float) -> str:
    """Give how far two temperatures are apart, with its unit and without a sign."""
    return f"{number(shown_c_difference(difference_c, _NOW.get().temperature))} {degrees_unit()}"


def spans(sentence: str) -> str:
    """Give a sentence whose temperatures, written in °C, are all differences, in the reader's degrees."""

    def shown(found: re.Match[str]) -> str:
        value = shown_c_difference(float(found[1]), _NOW.get().temperature)
        return f"{number(value, len(found[1].partition('.')[2]))} {degrees_unit()}"

    return re.sub(r"(\d+(?:\.\d+)?) °C", shown, sentence)


_HEAT = re.compile(
    r"(?P<before>\b(?:last|drop|drop of|cool|a)\s\(?(?:about\s)?|\()?"
    r"(?P<low>\d+(?:\.\d+)?)(?:(?P<between>\s?-\s?|\s(?:to|and|or)\s(?:near\s|about\s)?)(?P<high>\d+(?:\.\d+)?))?"
    r"\s°?C\b(?P<after>/h|\s(?:below|lower|under|above the|over the|hotter|cooler|quickly|drop|apart)\b)?"
)


def temperatures(sentence: str) -> str:
    """Give a sentence of the knowledge with its figures as the reader likes them: degrees and decimal marks.

    A difference is told by the words about it: "the last 100 °C", "20 to 100 °C below the top", "60 °C/h".
    """

    def shown(found: re.Match[str]) -> str:
        before = found["before"] or ""
        unit = _NOW.get().temperature
        apart = before.strip(" (") not in ("", "cool") or found["after"] is not None
        convert = shown_c_difference if apart else shown_c
        ends = [each for each in (found["low"], found["high"]) if each is not None]
        places = max(len(each.partition(".")[2]) for each in ends)
        told = [number(convert(float(each), unit), places) for each in ends]
        between = " to " if "-" in (found["between"] or "-") else found["between"]
        return f"{before}{between.join(told)} {degrees_unit()}{found['after'] or ''}"

    return marks(_HEAT.sub(shown, sentence))


def unit_words(unit: str) -> str:
    """Give the unit of a fact as a field names it: temperatures and rates in the reader's degrees."""
    return {"°C": degrees_unit(), "°C/h": f"{degrees_unit()}/h"}.get(unit, unit)


def told_figure(shown: float, unit: str) -> float:
    """Give a fact's figure, typed in `unit_words`, in its own unit."""
    back = {"°C": c_of_shown, "°C/h": c_difference_of_shown}.get(unit)
    return shown if back is None else back(shown, _NOW.get().temperature)


def length(length_mm: float, decimals: int = 1) -> str:
    """Give a length with its unit; inches get two decimals more than millimetres."""
    unit = _NOW.get().length
    return f"{number(shown_mm(length_mm, unit), decimals + 2 * (unit == 'in'))} {unit}"


def length_unit() -> str:
    """Give "mm" or "in"."""
    return _NOW.get().length


def shown_length(length_mm: float) -> float:
    """Give a length as the number a field shows, in `length_unit`."""
    return shown_mm(length_mm, _NOW.get().length)


def told_length(shown: float) -> float:
    """Give the millimetres of a number typed into a field in `length_unit`."""
    return mm_of_shown(shown, _NOW.get().length)


def size(width_mm: float, height_mm: float) -> str:
    """Give width and height with their unit."""
    unit = _NOW.get().length
    decimals = 2 if unit == "in" else 0
    sides = (number(shown_mm(side, unit), decimals) for side in (width_mm, height_mm))
    return f"{' × '.join(sides)} {unit}"
