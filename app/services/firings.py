"""Loads for the screen: schedules from a table, the cone they amount to, the log's figures as rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from app.services.studio import day_words
from app.words.choices import degrees, difference, number, percent, rate, span, temperatures
from catalog.errors import CatalogError
from catalog.records import Load, Segment
from catalog.store import Catalog

if TYPE_CHECKING:
    from catalog.firing.bend import ShelfReading, WitnessReading
    from catalog.firing.log_csv import LogImport
    from catalog.firing.path import TemperaturePath
    from catalog.firing.witness import ShelfOffset

__all__ = [
    "column_words",
    "course_of",
    "figure_rows",
    "load_rows",
    "log_of",
    "offset_rows",
    "schedule_of",
    "schedule_rows",
    "shelf_words",
    "verdicts",
    "witnesses_of",
]


def schedule_of(rows: Sequence[Mapping[str, Any]], unit: str = "C") -> list[Segment]:
    """Give a table's rows as segments in °C; a row without rate or target is left out, no hold is none.

    `unit` is "C" or "F", that of the table.
    """
    segments = []
    for row in rows:
        rate, target, hold = (_known(row.get(name)) for name in ("rate", "target", "hold_min"))
        if rate is not None and target is not None:
            segments.append(Segment(rate, target, hold or 0.0))
    if unit == "C":
        return segments
    from catalog.firing.units import segments_from_f

    return list(segments_from_f(segments))


def schedule_rows(load: Load, unit: str = "C") -> list[tuple[float, float, float]]:
    """Give a load's segments as (rate, target, hold) in °C or °F, rounded as a table shows them."""
    segments = load.schedule
    if unit == "F":
        from catalog.firing.units import segments_in_f

        segments = segments_in_f(segments)
    return [(round(s.rate_c_per_h, 1), round(s.target_c, 1), s.hold_min) for s in segments]


def _known(cell: float | None) -> float | None:
    """Give a table's cell as a number; an empty one comes as None or as what equals nothing."""
    return None if cell is None or cell != cell else float(cell)


def log_of(catalog: Catalog, load: Load) -> LogImport | None:
    """Give the log kept with a load, read. Raises the errors of `Workshop.read_log`."""
    kept = catalog.workshop.log(load.id)
    return None if kept is None else catalog.workshop.read_log(kept)


def course_of(load: Load, log: LogImport | None) -> TemperaturePath | None:
    """Give what is known of a load's course: its log, else its plan. Raises ScheduleError."""
    from catalog.firing.path import path_of_schedule

    if log is not None:
        return log.path
    return path_of_schedule(load.schedule, load.name) if load.schedule else None


def verdicts(load: Load, log: LogImport | None) -> tuple[list[str], list[str]]:
    """Give the cone verdict, a sentence a shelf (or one computed), and the notes on the computation."""
    from catalog.firing.witness import shelf_verdicts

    found = shelf_verdicts(load, None if log is None else log.path)
    computed = next((verdict.computed for verdict in found if verdict.computed is not None), None)
    said = [temperatures(verdict.sentence) for verdict in found]
    if computed is None:
        return said, []
    words = temperatures(computed.sentence())
    if words not in said:
        said.append(words)
    return said, [temperatures(note) for note in computed.notes]


def figure_rows(path: TemperaturePath, above_c: Sequence[float]) -> list[tuple[str, str]]:
    """Give the figures a person reads off a firing."""
    from catalog.firing.course_figures import course_figures

    told = course_figures(path, above_c)
    rows = [
        (
            "Peak",
            f"{degrees(told.peak_c)} after {number(told.hours_to_peak, 1)} h, "
            f"{number(told.hours, 1)} h in all",
        ),
        (
            f"Rate over the last {span(100)}",
            "not covered" if told.last_100_c_per_h is None else rate(told.last_100_c_per_h),
        ),
    ]
    rows += [(f"Above {degrees(level)}", _minutes(minutes)) for level, minutes in told.minutes_above]
    for hot, cool, per_hour in told.cooling_c_per_h:
        words = "not covered" if per_hour is None else rate(per_hour)
        rows.append((f"Cooling {degrees(hot)} to {degrees(cool)}", words))
    rows += [
        (f"Held, {hold.where}", f"{_minutes(hold.minutes)} at {degrees(hold.temperature_c)}")
        for hold in told.holds
    ]
    return rows


def _minutes(minutes: float) -> str:
    hours, left = divmod(round(minutes), 60)
    return f"{hours} h {left:02d} min" if hours else f"{left} min"


def column_words(log: LogImport) -> list[str]:
    """Say how a log was read, and what was done to it."""
    return [*log.columns.reasons, *log.notes]


def witnesses_of(rows: Sequence[Mapping[str, Any]]) -> list[WitnessReading]:
    """Give a table's rows as cones found; a row without cone is left out. A typed angle outranks the word."""
    from catalog.firing.bend import POSITIONS, WitnessReading

    found = []
    for row in rows:
        cone = str(row.get("cone") or "").strip()
        angle = _known(row.get("angle_deg"))
        word = row.get("position")
        if angle is None and word in POSITIONS:
            angle = POSITIONS[str(word)]
        if cone and angle is not None:
            shelf = str(row.get("shelf") or "").strip()
            found.append(WitnessReading(shelf, cone, angle, str(row.get("form") or "cone")))
    return found


def shelf_words(readings: Sequence[WitnessReading], rate_c_per_h: float | None) -> list[str]:
    """Say what the cones as found amount to, shelf by shelf."""
    from catalog.firing.bend import read_shelves

    shelves: Sequence[ShelfReading] = read_shelves(readings, rate_c_per_h)
    return [shelf.sentence() for shelf in shelves]


def load_rows(catalog: Catalog) -> list[dict[str, str]]:
    """Give all loads for a table, the last fired first."""
    courses = catalog.workshop.courses()
    rows = []
    for load in catalog.loads():
        rows.append(
            {
                "Load": load.name,
                "Fired on": "not said" if load.fired_on is None else day_words(load.fired_on),
                "Kind": load.kind,
                "Kiln": load.kiln,
                "Aimed at": load.cone_aimed or "not said",
                "Witness cones": ", ".join(f"{c.shelf or 'kiln'} {c.cone}" for c in load.cones) or "not read",
                "By the course": _computed(load, courses.get(load.id)),
                "Log": "kept" if load.id in courses else "none",
                "Pieces": str(catalog.count_pieces(load_id=load.id)),
            }
        )
    return rows


def _computed(load: Load, course: TemperaturePath | None) -> str:
    from catalog.firing.heatwork import end_point_cone

    try:
        known = course or course_of(load, None)
    except CatalogError:
        return "the plan cannot be"
    if known is None:
        return "no plan"
    found = end_point_cone(known)
    if found.cone is None:
        return f"below cone {found.next_cone}"
    part = (
        ""
        if found.fraction is None
        else f" and {percent(found.fraction)} of the way to cone {found.next_cone}"
    )
    return f"cone {found.cone}{part}, by its {'log' if course is not None else 'plan'}"


def offset_rows(offsets: Sequence[ShelfOffset]) -> list[dict[str, str]]:
    """Give each load's offset, for a table."""
    return [
        {
            "Kiln": each.kiln or "not said",
            "Shelf": each.shelf or "kiln",
            "Load": seen.load,
            "Fired on": "not said" if seen.fired_on is None else day_words(seen.fired_on),
            "Cone": seen.cone,
            "Shelf less thermocouple": difference(seen.offset_c),
        }
        for each in offsets
        for seen in each.loads
    ]
