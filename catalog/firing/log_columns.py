"""Which column of a log is the time, which the temperature, in what unit: guessed, with the reasons said."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from catalog.firing.errors import ScheduleError
from catalog.firing.log_clock import MINUTES_OF, TimeKind, epoch_minutes, kind_of_cells
from catalog.firing.log_table import LogTable, number_of
from catalog.firing.path import HOTTEST_C
from catalog.firing.rate_process import FloatArray

__all__ = ["LogColumns", "choose_columns", "guess_columns", "temperatures_of"]

_SAMPLE = 200
_PLAUSIBLE_H = (1.5, 120.0)
"""A firing on record lasts so long (our choice); decides a unit of time nobody stated, or refuses to."""

_UNIT_WORDS: Mapping[TimeKind, str] = {
    TimeKind.SECONDS: r"\b(s|sec|secs|second|seconds)\b",
    TimeKind.MINUTES: r"\b(min|mins|minute|minutes)\b",
    TimeKind.HOURS: r"\b(h|hr|hrs|hour|hours)\b",
    TimeKind.DAYS: r"\b(d|day|days)\b",
}
_TIME = re.compile(r"time|zeit|clock|elapsed|stamp|date|hour|minute|second|^t$", re.IGNORECASE)
_DATE_ONLY = re.compile(r"date|datum|day", re.IGNORECASE)
_ELAPSED = re.compile(r"elapsed|run|duration|since|mm:ss|m:ss|h:mm|hh:mm", re.IGNORECASE)
_WARM = re.compile(
    r"temp|thermo|\btc|°|º|\bpv\b|actual|measured|probe|zone|kiln|chamber|top|middle|bottom", re.IGNORECASE
)
_WISHED = re.compile(
    r"set|target|\bsp\b|program|plan|segment|\bseg\b|output|power|%|room|board|cold", re.IGNORECASE
)
_FAHRENHEIT = re.compile(r"(°|º|deg\s*|[_\s(\[]|^)f(ahrenheit)?\b|fahrenheit|°f|ºf", re.IGNORECASE)
_CELSIUS = re.compile(r"(°|º|deg\s*|[_\s(\[]|^)c(elsius)?\b|celsius|°c|ºc", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class LogColumns:
    """How a log is read; every field may be put right with `dataclasses.replace`.

    Attributes
    ----------
    time : str
        Name of the time column.
    time_kind : TimeKind
    temperature : str
        The thermocouple that the heat work is computed from.
    unit : str
        "C" or "F".
    date : str or None
        Column of dates beside a clock time.
    others : tuple of str
        Further thermocouples, read along.
    reasons : tuple of str
        Why each was taken.
    """

    time: str
    time_kind: TimeKind
    temperature: str
    unit: str
    date: str | None = None
    others: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()


def temperatures_of(table: LogTable, column: str) -> FloatArray:
    """Give a column's numbers as written, not a number where a cell has none; (n,)."""
    cells = table.columns[column]
    try:
        return np.array(cells, dtype=np.float64)
    except ValueError:
        numbers = [number_of(cell) for cell in cells]
        return np.array([np.nan if number is None else number for number in numbers])


def _sample(table: LogTable, column: str) -> list[str]:
    cells = [cell for cell in table.columns[column] if cell]
    step = max(1, len(cells) // _SAMPLE)
    return cells[::step]


def _numeric(table: LogTable, column: str) -> bool:
    cells = _sample(table, column)
    numbers = sum(number_of(cell) is not None for cell in cells)
    return bool(cells) and numbers >= 0.5 * len(cells)


def guess_columns(table: LogTable) -> LogColumns:
    """Guess how a log is to be read.

    Raises
    ------
    ScheduleError
        No column of times, none of temperatures, or a unit of time that cannot be told.
    """
    time, kind, date, why_time = _guess_time(table)
    taken = {time, date}
    numeric = [name for name in table.columns if name not in taken and _numeric(table, name)]
    warm = [name for name in numeric if _WARM.search(_spaced(name)) and not _WISHED.search(_spaced(name))]
    if not warm:
        warm = [name for name in numeric if not _WISHED.search(_spaced(name)) and not _TIME.search(name)][:1]
        named = False
    else:
        named = True
    warm = [name for name in warm if _alive(temperatures_of(table, name))]
    if not warm:
        raise ScheduleError(
            table.name,
            f"no column of temperatures was found among {', '.join(table.columns)}; say which one it is",
        )
    main = next((name for name in warm if re.search(r"mean|average|avg|control", name, re.I)), warm[0])
    why = "its name says so" if named else "it is the first column of numbers beside the time"
    if len(warm) > 1:
        why += (
            f"; first of {len(warm)} thermocouples" if main == warm[0] else "; its name says it is the mean"
        )
    unit, why_unit = _guess_unit(table, main)
    return LogColumns(
        time=time,
        time_kind=kind,
        temperature=main,
        unit=unit,
        date=date,
        others=tuple(name for name in warm if name != main),
        reasons=(why_time, f"Temperature is '{main}': {why}.", why_unit),
    )


def _alive(values: FloatArray) -> bool:
    """Tell a thermocouple that read a kiln from a broken one: mostly numbers, and they change."""
    good = values[np.isfinite(values)]
    return bool(good.size >= 0.5 * values.size and good.size and np.ptp(good) > 20.0)


def _spaced(name: str) -> str:
    return re.sub(r"[_.\-/]+", " ", name)


def _guess_unit(table: LogTable, column: str) -> tuple[str, str]:
    name = _spaced(column)
    if _FAHRENHEIT.search(name):
        return "F", "Unit is °F: the column's name says so."
    if _CELSIUS.search(name):
        return "C", "Unit is °C: the column's name says so."
    cells = _sample(table, column)
    if cells and all(re.search(r"f$", cell, re.IGNORECASE) for cell in cells):
        return "F", "Unit is °F: it stands behind the figures."
    if cells and all(re.search(r"c$", cell, re.IGNORECASE) for cell in cells):
        return "C", "Unit is °C: it stands behind the figures."
    for other in table.columns:
        if re.search(r"unit", other, re.IGNORECASE):
            letters = {cell.strip("°º ").upper()[:1] for cell in _sample(table, other)}
            if letters in ({"F"}, {"C"}):
                letter = letters.pop()
                return letter, f"Unit is °{letter}: the column '{other}' says so."
            raise ScheduleError(table.name, f"the column '{other}' names more than one unit; say which it is")
    values = temperatures_of(table, column)
    good = values[np.isfinite(values) & (values < 3000.0)]
    peak = float(good.max()) if good.size else 0.0
    if peak > HOTTEST_C:
        return "F", f"Unit is °F: nobody says so, but {peak:.0f} °C is hotter than any cone."
    return "C", f"Unit is taken as °C: nobody says so and the peak of {peak:.0f} leaves it open; check it."


def _guess_time(table: LogTable) -> tuple[str, TimeKind, str | None, str]:
    named = [name for name in table.columns if _TIME.search(_spaced(name))]
    rest = [name for name in table.columns if name not in named]
    dates = [
        name
        for name in (*named, *rest)
        if (kinds := kind_of_cells(_sample(table, name))) and kinds[0] in _DATED
    ]
    for name in dates:
        if any(":" in cell or "T" in cell for cell in _sample(table, name)):
            kind, why = _dated_kind(table, name)
            return name, kind, None, f"Time is '{name}': {kind}{why}."
    for name in (*named, *rest):
        kinds = kind_of_cells(_sample(table, name))
        if kinds and kinds[0] in (TimeKind.CLOCK, TimeKind.ELAPSED):
            kind, why = _field_kind(table, name, kinds)
            date = dates[0] if dates and kind is TimeKind.CLOCK else None
            beside = f" with the dates of '{date}'" if date else ""
            return name, kind, date, f"Time is '{name}'{beside}: {kind}, {why}."
    for name in named:
        if _numeric(table, name):
            kind, why = _number_kind(table, name)
            return name, kind, None, f"Time is '{name}': {why}."
    for name in rest:
        values = temperatures_of(table, name)
        if np.isfinite(values).all() and values.size > 1 and (np.diff(values) > 0.0).all():
            kind, why = _number_kind(table, name)
            return name, kind, None, f"Time is '{name}': the only figures that always grow; {why}."
    raise ScheduleError(
        table.name, f"no column of times was found among {', '.join(table.columns)}; say which one it is"
    )


_DATED = (TimeKind.DATE_ISO, TimeKind.DATE_DAY_FIRST, TimeKind.DATE_MONTH_FIRST)


def _dated_kind(table: LogTable, name: str) -> tuple[TimeKind, str]:
    """Tell day from month: by a figure above 12, else by the order that makes the firing shorter."""
    spans = {}
    kinds = kind_of_cells(_sample(table, name))
    if kinds == (TimeKind.DATE_ISO,):
        return TimeKind.DATE_ISO, ""
    for kind in kinds:
        times = epoch_minutes(table.columns[name], kind)
        if not np.isfinite(times[[cell != "" for cell in table.columns[name]]]).all():
            continue
        good = times[np.isfinite(times)]
        spans[kind] = float(np.ptp(good))
    if not spans:
        raise ScheduleError(table.name, f"the dates of '{name}' cannot be read in one order of day and month")
    kind = min(spans, key=lambda key: spans[key])
    if len(spans) == 1 or spans[kind] == max(spans.values()):
        return kind, ""
    return kind, " (the other order of day and month would make the firing longer)"


def _field_kind(table: LogTable, name: str, kinds: tuple[TimeKind, ...]) -> tuple[TimeKind, str]:
    if TimeKind.ELAPSED not in kinds:
        return TimeKind.CLOCK, "AM and PM stand in it"
    label = _spaced(name)
    if re.search(r"\bmm?:ss\b", label, re.IGNORECASE) and not re.search(r"h:mm:ss", label, re.IGNORECASE):
        return TimeKind.ELAPSED_MM_SS, "its name says so"
    if _ELAPSED.search(label):
        return TimeKind.ELAPSED, "its name says so"
    times = epoch_minutes(table.columns[name], TimeKind.CLOCK)
    good = times[np.isfinite(times)]
    if good.size and good.max() >= 1440.0:
        return TimeKind.ELAPSED, "it runs past 24 hours"
    if good.size and good[0] < 2.0 and not re.search(r"clock|day", label, re.IGNORECASE):
        return TimeKind.ELAPSED, "it starts at zero"
    return TimeKind.CLOCK, "it does not start at zero"


def _number_kind(table: LogTable, name: str) -> tuple[TimeKind, str]:
    label = _spaced(name)
    values = temperatures_of(table, name)
    good = values[np.isfinite(values)]
    if not good.size:
        raise ScheduleError(table.name, f"the column '{name}' holds no times")
    if good.min() > 1e12:
        return TimeKind.EPOCH_MS, "so large a figure counts milliseconds since 1970"
    if good.min() > 5e8:
        return TimeKind.EPOCH, "so large a figure counts seconds since 1970"
    for kind, words in _UNIT_WORDS.items():
        if re.search(words, label, re.IGNORECASE):
            return kind, f"{kind}, as its name says"
    span = float(np.ptp(good))
    low, high = _PLAUSIBLE_H
    fitting = [
        kind
        for kind in (TimeKind.SECONDS, TimeKind.MINUTES, TimeKind.HOURS)
        if low <= span * MINUTES_OF[kind] / 60.0 <= high
    ]
    if len(fitting) != 1:
        choice = " or ".join(fitting) or "seconds, minutes or hours"
        raise ScheduleError(
            table.name, f"'{name}' runs over {span:g} without a unit: {choice}? Say which unit it is in"
        )
    return fitting[
        0
    ], f"{fitting[0]}: nobody says so, but any other unit makes no firing of {span:g}; check it"


def choose_columns(guess: LogColumns, table: LogTable, choice: Mapping[str, str]) -> LogColumns:
    """Put a guess right with what a person chose; the reasons say that it was chosen.

    Parameters
    ----------
    guess : LogColumns
    table : LogTable
    choice : mapping of str to str
        Any of "time", "time_kind", "temperature", "unit", "date".

    Raises
    ------
    ScheduleError
        A column, kind or unit that is not there.
    """
    for key in ("time", "temperature", "date"):
        if key in choice and choice[key] not in table.columns:
            raise ScheduleError(table.name, f"there is no column '{choice[key]}'")
    if choice.get("unit", "C") not in ("C", "F"):
        raise ScheduleError(table.name, f"the unit {choice['unit']!r} is neither C nor F")
    try:
        kind = TimeKind(choice["time_kind"]) if "time_kind" in choice else guess.time_kind
    except ValueError as error:
        raise ScheduleError(table.name, f"{choice['time_kind']!r} is no way to write a time") from error
    said = tuple(
        f"{key.replace('_', ' ').capitalize()} was chosen: {value}." for key, value in choice.items()
    )
    main = choice.get("temperature", guess.temperature)
    every = (guess.temperature, *guess.others)
    return replace(
        guess,
        time=choice.get("time", guess.time),
        time_kind=kind,
        temperature=main,
        unit=choice.get("unit", guess.unit),
        date=choice.get("date", guess.date),
        others=tuple(name for name in every if name != main),
        reasons=(*guess.reasons, *said),
    )
