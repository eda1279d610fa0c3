"""A schedule or a log from a CSV file."""

from __future__ import annotations

from pathlib import Path

from catalog.delimited import DelimitedTable, TableError, read_delimited, read_number
from catalog.firing.errors import ScheduleError
from catalog.firing.path import TemperaturePath, path_of_log, path_of_schedule
from catalog.records import Segment

__all__ = ["has_course_head", "read_course_csv", "read_schedule_csv"]

_SCHEDULE = ("rate_c_per_h", "target_c", "hold_min")
_LOG = ("time_min", "temperature_c")
_WANTED = "wanted: columns rate_c_per_h, target_c, hold_min (a schedule) or time_min, temperature_c (a log)"


def _table(path: Path) -> DelimitedTable:
    try:
        return read_delimited(path)
    except TableError as error:
        raise ScheduleError(path.name, error.reason, error.line) from error


def _cell(path: Path, line: int, row: dict[str, str], column: str) -> float:
    try:
        return read_number(row[column])
    except ValueError as error:
        raise ScheduleError(path.name, f"{column} is {row[column]!r}; wanted: a number", line) from error


def read_schedule_csv(path: Path) -> tuple[Segment, ...]:
    """Read a schedule's segments.

    Parameters
    ----------
    path : Path
        Columns `rate_c_per_h`, `target_c` and, where there are holds, `hold_min`, in any order; separator
        comma, semicolon or tab; decimal point or comma. An empty hold is none.

    Raises
    ------
    ScheduleError
        No such file, missing columns, or a figure that cannot be; with the line and what is wanted.
    """
    return _segments(path, _table(path))


def _segments(path: Path, table: DelimitedTable) -> tuple[Segment, ...]:
    if not {"rate_c_per_h", "target_c"} <= set(table.columns):
        has = ", ".join(table.columns) or "nothing"
        raise ScheduleError(path.name, f"the head has {has}; {_WANTED}")
    segments = []
    for line, row in table.rows:
        hold = _cell(path, line, row, "hold_min") if row.get("hold_min") else 0.0
        rate, target = _cell(path, line, row, "rate_c_per_h"), _cell(path, line, row, "target_c")
        segments.append(Segment(rate, target, hold))
    if not segments:
        raise ScheduleError(path.name, f"no rows under the head line; {_WANTED}")
    return tuple(segments)


def has_course_head(path: Path) -> bool:
    """Say whether a file's head line is one that `read_course_csv` reads as it stands.

    Any other table may be a controller's log, for `log_csv.import_log_csv`.
    """
    try:
        columns = set(read_delimited(path).columns)
    except TableError:
        return False
    return set(_LOG) <= columns or {"rate_c_per_h", "target_c"} <= columns


def read_course_csv(path: Path) -> TemperaturePath:
    """Read the course of a firing from a schedule or a log, told apart by the head line.

    Raises
    ------
    ScheduleError
        As `read_schedule_csv`, `path.path_of_schedule` and `path.path_of_log`.
    """
    table = _table(path)
    columns = set(table.columns)
    if set(_LOG) <= columns:
        times: list[float] = []
        temperatures: list[float] = []
        for line, row in table.rows:
            time = _cell(path, line, row, "time_min")
            if times and time <= times[-1]:
                raise ScheduleError(
                    path.name, f"the time {time:g} min does not come after {times[-1]:g}", line
                )
            times.append(time)
            temperatures.append(_cell(path, line, row, "temperature_c"))
        return path_of_log(times, temperatures, path.name)
    return path_of_schedule(_segments(path, table), path.name)
