"""The whole answer about a firing's heat work, for the command line and the screens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from catalog.firing.errors import ScheduleError
from catalog.firing.heatwork import HeatWork, end_point_cone
from catalog.firing.log_csv import import_log_csv
from catalog.firing.path import path_of_schedule
from catalog.firing.schedule_csv import has_course_head, read_course_csv
from catalog.records import Segment

__all__ = ["heatwork_report"]


def heatwork_report(course: Path | Sequence[Segment]) -> HeatWork:
    """Give the cone a schedule or log amounts to.

    Parameters
    ----------
    course : Path or sequence of Segment
        A CSV file or a load's planned segments. A file with the columns of `schedule_csv.read_course_csv` is
        read as it stands; any other is imported as a controller's log (`log_csv.import_log_csv`), and the
        answer's notes say how its columns were taken and what was done to it.

    Raises
    ------
    ScheduleError
        The course cannot be read or cannot be.
    """
    if not isinstance(course, Path):
        return end_point_cone(path_of_schedule(course))
    if has_course_head(course):
        return end_point_cone(read_course_csv(course))
    try:
        log = import_log_csv(course)
    except ScheduleError as error:
        wanted = "wanted: a log, or a schedule with the columns rate_c_per_h, target_c, hold_min"
        raise ScheduleError(error.name, f"{error.reason}; {wanted}", error.line) from error
    verdict = end_point_cone(log.path)
    return replace(verdict, notes=(*log.columns.reasons, *log.notes, *verdict.notes))
