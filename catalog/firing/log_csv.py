"""Import a controller's log: what was measured, on one clock in °C, with all that was done to it said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from catalog.firing.errors import ScheduleError
from catalog.firing.log_clock import TimeKind, date_minutes, epoch_minutes, kind_of_cells
from catalog.firing.log_columns import LogColumns, choose_columns, guess_columns, temperatures_of
from catalog.firing.log_table import LogTable, read_log_table
from catalog.firing.path import HOTTEST_C, PathKind, TemperaturePath
from catalog.firing.rate_process import FloatArray

__all__ = ["LogImport", "import_log_csv"]

_COLDEST_C = -40.0
_SPIKE_C = 100.0
"""A single reading this far from both neighbours, which agree, is a slip of the wiring (our choice)."""

_GAP_STEPS = 5.0
_GAP_LEAST_MIN = 10.0
"""A pause of more than five usual steps, and ten minutes, is a gap (our choice)."""

_CLOCK_CHANGE_MIN = 60.0
_CLOCK_CHANGE_PLAY_MIN = 5.0
"""How far the usual step may wander where the clock is put back (our choice)."""

_MIDNIGHT_BACK_MIN = 720.0


@dataclass(frozen=True, slots=True, eq=False)
class LogImport:
    """A log as read.

    Attributes
    ----------
    path : TemperaturePath
        Hours from the first reading, °C.
    columns : LogColumns
        How it was read, and why; a person may choose otherwise (`import_log_csv`).
    notes : tuple of str
        Everything done to the figures, and everything doubtful about them.
    thermocouples : mapping of str to (n,) float array
        Every thermocouple in °C at the times of `path`; not a number where one has no reading.
    interrupted : bool
        The logger started again within the file.
    rows : int
        Rows under the head line; `path` may hold fewer points.
    """

    path: TemperaturePath
    columns: LogColumns
    notes: tuple[str, ...]
    thermocouples: Mapping[str, FloatArray]
    interrupted: bool
    rows: int


def import_log_csv(file: Path, choice: Mapping[str, str] | None = None, name: str | None = None) -> LogImport:
    """Read a controller's log.

    Parameters
    ----------
    file : Path
        As `log_table.read_log_table`.
    choice : mapping of str to str, optional
        What a person says of the columns where the guess is wrong: any of "time", "time_kind" (a value of
        `TimeKind`), "temperature", "unit" ("C" or "F"), "date".
    name : str, optional
        What to call it in messages, for a file kept under another name.

    Returns
    -------
    LogImport

    Raises
    ------
    ScheduleError
        It cannot be read, or a unit or a jump of the clock cannot be told; with the line and what is wanted.
    """
    table = read_log_table(file, name)
    choice = dict(choice or {})
    columns = choose_columns(_guess(table, choice), table, choice)
    notes = [*table.notes]
    minutes = _minutes(table, columns)
    every = {name: _celsius(table, name, columns.unit) for name in (columns.temperature, *columns.others)}
    if columns.unit == "F":
        notes.append("°F turned into °C: (F - 32) / 1.8.")
    main = every[columns.temperature]
    kept = _kept(main, minutes, notes)
    minutes = minutes[kept]
    lines = np.array(table.lines)[kept]
    every = {name: values[kept] for name, values in every.items()}
    minutes, interrupted = _one_clock(
        table.name, minutes, lines, columns.time_kind, every[columns.temperature], notes
    )
    minutes, every = _merged(minutes, every, notes)
    if minutes.size < 2:
        raise ScheduleError(table.name, "fewer than two readings at different times; wanted: a whole log")
    values = every[columns.temperature]
    _note_gaps(minutes, values, notes)
    _note_others(every, columns.temperature, notes)
    path = TemperaturePath((minutes - minutes[0]) / 60.0, values, PathKind.LOG)
    return LogImport(path, columns, tuple(notes), every, interrupted, table.rows)


def _guess(table: LogTable, choice: Mapping[str, str]) -> LogColumns:
    """Guess, unless the person said all that cannot be told."""
    try:
        return guess_columns(table)
    except ScheduleError:
        if not {"time", "time_kind", "temperature"} <= set(choice):
            raise
        if missing := [choice[key] for key in ("time", "temperature") if choice[key] not in table.columns]:
            raise ScheduleError(table.name, f"there is no column '{missing[0]}'") from None
        return LogColumns(
            choice["time"], TimeKind.MINUTES, choice["temperature"], choice.get("unit", "C"), reasons=()
        )


def _minutes(table: LogTable, columns: LogColumns) -> FloatArray:
    minutes = epoch_minutes(table.columns[columns.time], columns.time_kind)
    if columns.date is None:
        return minutes
    dates = table.columns[columns.date]
    kinds = kind_of_cells([cell for cell in dates if cell][:: max(1, len(dates) // 200)])
    if not kinds:
        raise ScheduleError(table.name, f"the column '{columns.date}' holds no dates")
    days = {kind: {cell: date_minutes(cell, kind) for cell in set(dates)} for kind in kinds}

    def span(kind: TimeKind) -> float:
        known = [value for value in days[kind].values() if value is not None]
        return max(known) - min(known)

    chosen = days[min(kinds, key=span)]
    day = np.array([np.nan if (value := chosen[cell]) is None else value for cell in dates])
    together: FloatArray = minutes + day
    return together


def _celsius(table: LogTable, column: str, unit: str) -> FloatArray:
    values = temperatures_of(table, column)
    return (values - 32.0) / 1.8 if unit == "F" else values


def _kept(values: FloatArray, minutes: FloatArray, notes: list[str]) -> NDArray[np.bool_]:
    """Rows with a time and a believable temperature; what is left out is counted."""
    timed = np.isfinite(minutes)
    read = np.isfinite(values)
    with np.errstate(invalid="ignore"):
        sane = (values >= _COLDEST_C) & (values <= HOTTEST_C)
    for count, words in (
        (int((~timed).sum()), "without a readable time"),
        (int((timed & ~read).sum()), "without a reading"),
        (int((timed & read & ~sane).sum()), f"outside {_COLDEST_C:g} to {HOTTEST_C:g} °C"),
    ):
        if count:
            notes.append(f"{count} row{'s' * (count > 1)} {words} left out.")
    kept = timed & read & sane
    where = np.flatnonzero(kept)
    if where.size >= 3:
        inner = values[where]
        before, after = inner[1:-1] - inner[:-2], inner[1:-1] - inner[2:]
        spike = (
            (np.sign(before) == np.sign(after))
            & (np.minimum(np.abs(before), np.abs(after)) > _SPIKE_C)
            & (np.abs(inner[2:] - inner[:-2]) < _SPIKE_C / 2.0)
        )
        if spike.any():
            count = int(spike.sum())
            notes.append(
                f"{count} lone reading{'s' * (count > 1)} over {_SPIKE_C:g} °C off both neighbours left out."
            )
            kept[where[1:-1][spike]] = False
    return kept


def _one_clock(
    name: str,
    minutes: FloatArray,
    lines: NDArray[np.int_],
    kind: TimeKind,
    values: FloatArray,
    notes: list[str],
) -> tuple[FloatArray, bool]:
    """Make times that never go back, by midnight, a clock put back or a counter begun anew; each is said."""
    result = minutes.copy()
    interrupted = False
    for row in np.flatnonzero(np.diff(minutes) < -1e-9) + 1:
        back = float(minutes[row - 1] - minutes[row])
        steps = np.diff(minutes)
        usual = float(np.median(steps[steps > 0.0])) if (steps > 0.0).any() else 1.0
        where = f"line {int(lines[row])}"
        if kind is TimeKind.CLOCK and back >= _MIDNIGHT_BACK_MIN:
            result[row:] += 1440.0
            notes.append(f"{where}: the clock passes midnight, a day added from there.")
        elif _is_clock(kind) and abs(back + usual - _CLOCK_CHANGE_MIN) <= _CLOCK_CHANGE_PLAY_MIN:
            result[row:] += _CLOCK_CHANGE_MIN
            notes.append(
                f"{where}: the clock goes back an hour (end of summer time), an hour added from there."
            )
        elif not _is_clock(kind) and float(minutes[row]) - float(minutes[0]) <= max(10.0 * usual, 5.0):
            result[row:] += back + usual
            interrupted = True
            fell = float(values[row - 1] - values[row])
            notes.append(
                f"{where}: the count of time begins anew (the logger was started again). How long the pause "
                f"was is not in the file; it is counted as {usual:.1f} min, and the temperature changed by "
                f"{-fell:+.0f} °C over it."
            )
        else:
            raise ScheduleError(
                name,
                f"the time goes back by {back:.0f} min, which is no midnight, no change of summer time and "
                "no new start of the logger; wanted: times that grow",
                int(lines[row]),
            )
    return result, interrupted


def _is_clock(kind: TimeKind) -> bool:
    return kind in (
        TimeKind.CLOCK,
        TimeKind.DATE_ISO,
        TimeKind.DATE_DAY_FIRST,
        TimeKind.DATE_MONTH_FIRST,
    )


def _merged(
    minutes: FloatArray, every: dict[str, FloatArray], notes: list[str]
) -> tuple[FloatArray, dict[str, FloatArray]]:
    """Join readings of one time into their mean; a clock of whole minutes writes several."""
    first = np.concatenate([[True], np.diff(minutes) > 1e-9]) if minutes.size else np.zeros(0, dtype=bool)
    if bool(first.all()):
        return minutes, every
    starts = np.flatnonzero(first)
    counts = np.diff(np.append(starts, minutes.size))
    notes.append(f"{minutes.size - starts.size} readings share their time with another; their mean is taken.")
    joined = {key: np.add.reduceat(values, starts) / counts for key, values in every.items()}
    return minutes[starts], joined


def _note_gaps(minutes: FloatArray, values: FloatArray, notes: list[str]) -> None:
    steps = np.diff(minutes)
    usual = float(np.median(steps))
    gaps = np.flatnonzero(steps > max(_GAP_STEPS * usual, _GAP_LEAST_MIN))
    shown = gaps[np.argsort(steps[gaps])[::-1][:3]]
    for i in np.sort(shown):
        text = (
            f"No reading for {steps[i]:.0f} min at {minutes[i] - minutes[0]:.0f} min ({values[i]:.0f} to "
            f"{values[i + 1]:.0f} °C): taken as a straight line."
        )
        if max(values[i], values[i + 1]) > float(values.max()) - 100.0:
            text += " It lies near the peak, so the heat work is partly a guess."
        if abs(float(steps[i]) - usual - _CLOCK_CHANGE_MIN) <= 3.0:
            text += " If the clock was put forward an hour there, the gap is not real: nothing was changed."
        notes.append(text)
    if gaps.size > shown.size:
        notes.append(f"{gaps.size - shown.size} more gaps, all shorter.")


def _note_others(every: Mapping[str, FloatArray], main: str, notes: list[str]) -> None:
    if len(every) < 2:
        return
    top = int(np.argmax(every[main]))
    told = ", ".join(
        f"{name} {values[top]:.0f}" for name, values in every.items() if np.isfinite(values[top])
    )
    notes.append(f"Thermocouples at the peak, °C: {told}. The heat work follows {main}.")
