"""Times as loggers write them: elapsed or by the clock, with or without a date, in any usual spelling."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime
from enum import StrEnum

import numpy as np

from catalog.firing.log_table import number_of
from catalog.firing.rate_process import FloatArray

__all__ = ["MINUTES_OF", "TimeKind", "date_minutes", "epoch_minutes", "field_minutes", "kind_of_cells"]


class TimeKind(StrEnum):
    """How a time column is written."""

    SECONDS = "seconds"
    MINUTES = "minutes"
    HOURS = "hours"
    DAYS = "days"
    EPOCH = "seconds since 1970"
    EPOCH_MS = "milliseconds since 1970"
    ELAPSED = "elapsed h:mm"
    ELAPSED_MM_SS = "elapsed mm:ss"
    CLOCK = "clock time"
    DATE_ISO = "date and time, year first"
    DATE_DAY_FIRST = "date and time, day first"
    DATE_MONTH_FIRST = "date and time, month first"


MINUTES_OF = {
    TimeKind.SECONDS: 1.0 / 60.0,
    TimeKind.MINUTES: 1.0,
    TimeKind.HOURS: 60.0,
    TimeKind.DAYS: 1440.0,
    TimeKind.EPOCH: 1.0 / 60.0,
    TimeKind.EPOCH_MS: 1.0 / 60_000.0,
}

_FIELDS = re.compile(
    r"(?:(\d+)\s*(?:d|days?)\s+)?(\d+):(\d{1,2})(?::(\d{1,2}(?:[.,]\d+)?))?\s*([ap])?\.?(?:m\.?)?$",
    re.IGNORECASE,
)
_ISO = re.compile(r"\d{4}-\d{1,2}-\d{1,2}[T ]?")
_DATE = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4}|\d{2})[,T]?\s*(.*)$")


def field_minutes(cell: str, *, mm_ss: bool = False) -> float | None:
    """Give h:mm, h:mm:ss, "1 d 02:03" or mm:ss as minutes; "pm" is heeded; None for anything else."""
    found = _FIELDS.match(cell.strip())
    if found is None:
        return None
    days, first, second, third, half = found.groups()
    a, b = int(first), int(second)
    c = float(third.replace(",", ".")) if third else 0.0
    if b > 59 or c >= 60.0 or (half and not 1 <= a <= 12):
        return None
    if half:
        a = a % 12 + (12 if half.lower() == "p" else 0)
    if mm_ss and third is None:
        return a + b / 60.0
    return 1440.0 * int(days or 0) + 60.0 * a + b + c / 60.0


def date_minutes(cell: str, kind: TimeKind) -> float | None:
    """Give a date with a time as minutes since 1970; a stated offset from UTC is heeded; None if it is none.

    Without an offset the figure is the wall clock's, so a change to or from summer time still shows.
    """
    text = cell.strip()
    if kind is TimeKind.DATE_ISO:
        if not _ISO.match(text):
            return None
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            return _loose_iso(text)
        if moment.tzinfo is None:
            moment = moment.replace(tzinfo=UTC)
        return moment.timestamp() / 60.0
    found = _DATE.match(text)
    if found is None:
        return None
    first, second, year, rest = found.groups()
    day, month = (first, second) if kind is TimeKind.DATE_DAY_FIRST else (second, first)
    return _joined(int(year) + (2000 if len(year) == 2 else 0), int(month), int(day), rest)


def _loose_iso(text: str) -> float | None:
    """Read a year-first date that the standard library refuses, such as one with AM or PM behind it."""
    parts = re.match(r"(\d{4})-(\d{1,2})-(\d{1,2})[T ]\s*(.*)$", text)
    if parts is None:
        return None
    year, month, day, rest = parts.groups()
    return _joined(int(year), int(month), int(day), rest)


def _joined(year: int, month: int, day: int, rest: str) -> float | None:
    within = field_minutes(rest) if rest else 0.0
    if within is None:
        return None
    try:
        start = datetime(year, month, day, tzinfo=UTC)
    except ValueError:
        return None
    return start.timestamp() / 60.0 + within


def epoch_minutes(cells: Sequence[str], kind: TimeKind) -> FloatArray:
    """Give a column's times in minutes, not a number where a cell does not read as `kind`; (n,)."""

    def one(cell: str) -> float | None:
        if kind in MINUTES_OF:
            number = number_of(cell)
            return None if number is None else number * MINUTES_OF[kind]
        if kind in (TimeKind.ELAPSED, TimeKind.CLOCK, TimeKind.ELAPSED_MM_SS):
            return field_minutes(cell, mm_ss=kind is TimeKind.ELAPSED_MM_SS)
        return date_minutes(cell, kind)

    if kind in MINUTES_OF:
        plain = _plain_numbers(cells)
        if plain is not None:
            return plain * MINUTES_OF[kind]
    if kind is TimeKind.DATE_ISO and (dated := _plain_dates(cells)) is not None:
        return dated
    values = [one(cell) for cell in cells]
    return np.array([np.nan if value is None else value for value in values])


_PLAIN_DATE = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d)?$")


def _plain_dates(cells: Sequence[str]) -> FloatArray | None:
    """Read all dates at once (for speed); None where any is not plain, such as one with an offset."""
    if not all(map(_PLAIN_DATE.match, cells)):
        return None
    try:
        moments = np.array(cells, dtype="datetime64[s]")
    except ValueError:
        return None
    return moments.astype(np.int64).astype(np.float64) / 60.0


def _plain_numbers(cells: Sequence[str]) -> FloatArray | None:
    """Read all cells at once (for speed); None where any is more than a bare number with a point."""
    try:
        numbers = np.array(cells, dtype=np.float64)
    except ValueError:
        return None
    return numbers if bool(np.isfinite(numbers).all()) else None


def kind_of_cells(cells: Sequence[str]) -> tuple[TimeKind, ...]:
    """Give the kinds all of some cells read as, likeliest first; none for plain numbers without a unit."""
    seen = [cell for cell in cells if cell.strip()]
    if not seen:
        return ()
    if all(date_minutes(cell, TimeKind.DATE_ISO) is not None for cell in seen):
        return (TimeKind.DATE_ISO,)
    dated = [
        kind
        for kind in (TimeKind.DATE_DAY_FIRST, TimeKind.DATE_MONTH_FIRST)
        if all(date_minutes(cell, kind) is not None for cell in seen)
    ]
    if dated:
        return tuple(dated)
    if all(field_minutes(cell) is not None for cell in seen):
        if any(re.search(r"[ap]\.?\s*m\.?$", cell.strip(), re.IGNORECASE) for cell in seen):
            return (TimeKind.CLOCK,)
        return (TimeKind.ELAPSED, TimeKind.CLOCK)
    return ()
