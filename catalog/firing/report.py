"""The whole answer about a firing's heat work, for the command line and the screens."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from catalog.firing.heatwork import HeatWork, end_point_cone
from catalog.firing.path import path_of_schedule
from catalog.firing.schedule_csv import read_course_csv
from catalog.records import Segment

__all__ = ["heatwork_report"]


def heatwork_report(course: Path | Sequence[Segment]) -> HeatWork:
    """Give the cone a schedule or log amounts to.

    Parameters
    ----------
    course : Path or sequence of Segment
        A CSV file (`schedule_csv.read_course_csv`) or a load's planned segments.

    Raises
    ------
    ScheduleError
        The course cannot be read or cannot be.
    """
    path = read_course_csv(course) if isinstance(course, Path) else path_of_schedule(course)
    return end_point_cone(path)
