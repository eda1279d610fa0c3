"""Witness cones as read outrank computation; what the two disagree by is the kiln's thermocouple offset."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median, stdev

import numpy as np

from catalog.firing.bend import COUNTS_AS_END_DEG, WitnessReading, log_work_at, telling_reading
from catalog.firing.cone_table import SERIES, cone_processes
from catalog.firing.cones import parse_cone
from catalog.firing.errors import ScheduleError, UnknownConeError
from catalog.firing.heatwork import HeatWork, end_point_cone, log_works
from catalog.firing.path import TemperaturePath, path_of_schedule
from catalog.records import Load

__all__ = ["ShelfOffset", "ShelfVerdict", "Witnessed", "offset_c", "shelf_offsets", "shelf_verdicts"]

_SEARCH_C = 150.0
"""Offsets beyond this are not looked for: a thermocouple so far off is broken, not off (our choice)."""

_HALVINGS = 40


@dataclass(frozen=True, slots=True)
class ShelfVerdict:
    """What one shelf reached.

    Attributes
    ----------
    shelf : str
    cone : str
    by : str
        "witness cone" or "computed".
    offset_c : float or None
        Witnessed less computed, °C: how much warmer the shelf was than the course says. None where nothing
        was computed or the cone is out of reach of any offset looked for.
    computed : HeatWork or None
    sentence : str
    """

    shelf: str
    cone: str
    by: str
    offset_c: float | None
    computed: HeatWork | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Witnessed:
    """One witness cone against its load's course."""

    load: str
    fired_on: date | None
    cone: str
    offset_c: float


@dataclass(frozen=True, slots=True)
class ShelfOffset:
    """How far a kiln's thermocouple is from one shelf, over its loads.

    Attributes
    ----------
    kiln, shelf : str
    count : int
    median_c : float
        Middle of the offsets; positive: the shelf is hotter than the thermocouple says.
    spread_c : float or None
        Standard deviation (n - 1); None from a single load.
    drift_c_per_load : float or None
        Slope of a straight line over the loads in order of date; None from fewer than four dated loads.
    loads : tuple of Witnessed
        In order of date, those without one first.
    by_log : int
        How many of them rest on a measured log; the others on the plan.
    """

    kiln: str
    shelf: str
    count: int
    median_c: float
    spread_c: float | None
    drift_c_per_load: float | None
    loads: tuple[Witnessed, ...]
    by_log: int

    def sentence(self) -> str:
        """Give the offset as one plain sentence."""
        shelf = f"the {self.shelf} shelf" if self.shelf else "the shelf"
        way = "hotter" if self.median_c >= 0.0 else "cooler"
        loads = "1 load" if self.count == 1 else f"{self.count} loads"
        spread = "" if self.spread_c is None else f", spread {self.spread_c:.0f} °C"
        much = f"{abs(self.median_c):.0f} °C {way}"
        kiln = self.kiln or "Kiln not named"
        says = {self.count: "log", 0: "plan"}.get(self.by_log, "log or plan")
        return f"{kiln}: {shelf} was {much} than its {says} says ({loads}{spread})."

    @property
    def drift_words(self) -> str:
        """How it moves from load to load, where four dated loads tell; else ""."""
        if self.drift_c_per_load is None:
            return ""
        way = "up" if self.drift_c_per_load >= 0.0 else "down"
        return f"It goes {way} by {abs(self.drift_c_per_load):.1f} °C a load."


def offset_c(
    path: TemperaturePath, cone: str, series: str = SERIES, *, log_work: float = 0.0
) -> float | None:
    """Give the shift of a whole course that would bring a cone just to its end point.

    Parameters
    ----------
    path : TemperaturePath
    cone : str
        As read beside the ware.
    series : str
    log_work : float
        Natural log of the share of the end point's work that was done (`bend.log_work_at`): below zero for a
        cone found half bent.

    Returns
    -------
    float or None
        Degrees Celsius; positive where the ware was hotter than the course says. None when no shift up to
        150 °C does it or the series has no such cone.

    Raises
    ------
    UnknownConeError
    """
    wanted = parse_cone(cone)
    process = [p for p in cone_processes(series) if p.cone == wanted]
    if not process:
        return None
    low, high = -_SEARCH_C, _SEARCH_C
    if log_works(path, process, low)[0] >= log_work or log_works(path, process, high)[0] < log_work:
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if log_works(path, process, middle)[0] >= log_work:
            high = middle
        else:
            low = middle
    return (low + high) / 2.0


def _path(load: Load, measured: TemperaturePath | None) -> TemperaturePath | None:
    if measured is not None:
        return measured
    if not load.schedule:
        return None
    try:
        return path_of_schedule(load.schedule, load.name)
    except ScheduleError:
        return None


def _cone(text: str) -> str | None:
    try:
        return parse_cone(text)
    except UnknownConeError:
        return None


def shelf_verdicts(load: Load, measured: TemperaturePath | None = None) -> tuple[ShelfVerdict, ...]:
    """Give what each shelf of a load reached: by its witness cone where one was read, else by computation.

    Parameters
    ----------
    load : Load
    measured : TemperaturePath, optional
        The load's log; without one its planned schedule stands in.

    Returns
    -------
    tuple of ShelfVerdict
        One for each readable witness cone; with none, the computed one (shelf ""); empty where there is
        neither.
    """
    path = _path(load, measured)
    computed = None if path is None else end_point_cone(path)
    verdicts = []
    for result in load.cones:
        cone = _cone(result.cone)
        if cone is None:
            continue
        off = None if path is None else offset_c(path, cone)
        place = f"The {result.shelf} shelf" if result.shelf else "The load"
        text = f"{place} reached cone {cone} by its witness cone"
        if computed is not None and computed.cone is not None:
            source = "the log" if measured is not None else "the planned schedule"
            text += f"; {source} computes to cone {computed.cone}"
            if off is not None:
                text += (
                    f", so it was about {abs(off):.0f} °C {'hotter' if off >= 0 else 'cooler'} than that says"
                )
        verdicts.append(ShelfVerdict(result.shelf, cone, "witness cone", off, computed, text + "."))
    if verdicts or computed is None or computed.cone is None:
        return tuple(verdicts)
    return (ShelfVerdict("", computed.cone, "computed", None, computed, computed.sentence()),)


def _witnessed(load: Load, found: Sequence[WitnessReading]) -> list[tuple[str, str, float]]:
    """Give (shelf, cone, log of the work it shows): a half-bent cone of a shelf before its end-point cone."""
    told: dict[str, tuple[str, str, float]] = {}
    for result in load.cones:
        cone = _cone(result.cone)
        if cone is not None:
            told[result.shelf.strip().casefold()] = (result.shelf, cone, 0.0)
    for shelf in {reading.shelf.strip().casefold() for reading in found}:
        best = telling_reading(r for r in found if r.shelf.strip().casefold() == shelf)
        if best is None or best.angle_deg >= COUNTS_AS_END_DEG:
            continue
        work = log_work_at(best.angle_deg)
        if work is not None:
            told[shelf] = (best.shelf, parse_cone(best.cone), work)
    return list(told.values())


def shelf_offsets(
    loads: Sequence[Load],
    measured: Mapping[int, TemperaturePath] | None = None,
    found_as: Mapping[int, Sequence[WitnessReading]] | None = None,
) -> tuple[ShelfOffset, ...]:
    """Give the thermocouple offset of each kiln and shelf over its loads.

    Parameters
    ----------
    loads : sequence of Load
        Those with witness cones and a course count.
    measured : mapping of int to TemperaturePath, optional
        Logs by load id. A load without one is taken at its plan, which also holds the controller's error.
    found_as : mapping of int to sequence of WitnessReading, optional
        Cones as found, by load id. A half-bent one tells its temperature, an end point only the least it was.

    Returns
    -------
    tuple of ShelfOffset
        By kiln, then shelf. A cone at its end point may have been passed by up to the next cone, so an
        offset is a lower figure, by half a step of the ladder on average.
    """
    found: dict[tuple[str, str], list[tuple[Witnessed, bool]]] = defaultdict(list)
    names: dict[tuple[str, str], tuple[str, str]] = {}
    for load in loads:
        log = (measured or {}).get(load.id)
        path = _path(load, log)
        if path is None:
            continue
        for shelf, cone, work in _witnessed(load, (found_as or {}).get(load.id, ())):
            off = offset_c(path, cone, log_work=work)
            if off is None:
                continue
            key = (load.kiln.strip().casefold(), shelf.strip().casefold())
            names.setdefault(key, (load.kiln.strip(), shelf.strip()))
            found[key].append((Witnessed(load.name, load.fired_on, cone, off), log is not None))
    return tuple(_over_loads(*names[key], found[key]) for key in sorted(found))


def _over_loads(kiln: str, shelf: str, witnessed: list[tuple[Witnessed, bool]]) -> ShelfOffset:
    witnessed.sort(key=lambda item: item[0].fired_on or date.min)
    offsets = [item.offset_c for item, _ in witnessed]
    dated = [item.offset_c for item, _ in witnessed if item.fired_on is not None]
    drift = float(np.polyfit(np.arange(len(dated)), dated, 1)[0]) if len(dated) >= 4 else None
    return ShelfOffset(
        kiln=kiln,
        shelf=shelf,
        count=len(offsets),
        median_c=median(offsets),
        spread_c=stdev(offsets) if len(offsets) > 1 else None,
        drift_c_per_load=drift,
        loads=tuple(item for item, _ in witnessed),
        by_log=sum(logged for _, logged in witnessed),
    )
