"""How far a witness cone has bent, and what that says: the cone a shelf came to, to a part of a step.

A leaning cone is bent by its own weight, whose turning grows with the sine of its lean, against a viscosity
that falls with heat. So lean grows with work done as d(lean)/d(work) ~ sin(lean), and the share of the work
to the end point that a lean shows is

    ln(tan(lean / 2) / tan(start / 2)) / ln(1 / tan(start / 2)),     end point at 90 degrees

(our working; it leaves out that a cone thins and sags along its length). A cone is set leaning 8 degrees
and is at its end point when its tip is level with its foot (makers' instructions, from memory). A bar on
two supports is read in the same words; its share between is not computed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from catalog.firing.cone_table import SERIES, ConeProcess, cone_processes
from catalog.firing.cones import cone_position, parse_cone
from catalog.firing.errors import MeasureError
from catalog.firing.rate_process import GAS_CONSTANT_KJ, ZERO_C_IN_K

__all__ = ["POSITIONS", "ShelfReading", "WitnessReading", "log_work_at", "read_shelves", "telling_reading"]

START_DEG = 8.0
"""Lean of a cone as it is set (makers' instructions, from memory)."""

END_DEG = 90.0
"""Tip level with the foot."""

COUNTS_AS_END_DEG = 80.0
"""From here a reading counts as the end point: the eye is no better than ten degrees (our choice)."""

COUNTS_AS_BENT_DEG = 15.0
"""Below this a cone has not visibly moved (our choice)."""

POSITIONS: Mapping[str, float] = {
    "as it was set": 8.0,
    "leaning": 30.0,
    "half over": 50.0,
    "tip level with its foot": 90.0,
    "flat or melted": 120.0,
}
"""Words for a lean, degrees from upright."""

USUAL_RATE_C_PER_H = 60.0
"""The chart's middle rate, where a load has no course."""


@dataclass(frozen=True, slots=True)
class WitnessReading:
    """One cone or bar as found.

    Attributes
    ----------
    shelf : str
    cone : str
        Which cone stood there, as text.
    angle_deg : float
        Lean from upright, 0 to 180; `POSITIONS` has words for it.
    form : str
        "cone" or "bar".
    note : str
    """

    shelf: str
    cone: str
    angle_deg: float
    form: str = "cone"
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShelfReading:
    """What the witnesses of one shelf say together.

    Attributes
    ----------
    shelf : str
    cone : str or None
        Hottest cone of the ladder that this shelf brought to its end point; None below all.
    fraction : float or None
        Way to the next cone, 0 to under 1, where a half-bent cone tells; else None.
    next_cone : str or None
    open_above : bool
        The hottest witness went over: the shelf may have been hotter than `cone`.
    doubtful : bool
        A hotter cone bent further than a cooler one.
    """

    shelf: str
    cone: str | None
    fraction: float | None
    next_cone: str | None
    open_above: bool
    doubtful: bool

    def sentence(self) -> str:
        """Give the finding as one plain sentence."""
        place = f"The {self.shelf} shelf" if self.shelf else "The load"
        if self.cone is None:
            return f"{place} came to less than the coolest cone of the chart."
        words = f"{place} came to cone {self.cone}"
        if self.fraction is not None and self.next_cone is not None and self.fraction >= 0.05:
            words += f" and {100.0 * self.fraction:.0f} % of the way to cone {self.next_cone}"
        if self.open_above:
            words += ", or hotter: no cone that stood there was left standing"
        if self.doubtful:
            words += "; a hotter cone bent further than a cooler one, so look again"
        return f"{words}."


def log_work_at(angle_deg: float) -> float | None:
    """Give the natural log of the share of the end point's work that a lean shows.

    Parameters
    ----------
    angle_deg : float
        Degrees from upright.

    Returns
    -------
    float or None
        Zero from `END_DEG` on; None where the cone has not visibly moved.
    """
    if angle_deg < COUNTS_AS_BENT_DEG:
        return None
    lean, start = math.radians(min(angle_deg, END_DEG)), math.radians(START_DEG)
    whole = -math.log(math.tan(start / 2.0))
    return math.log((math.log(math.tan(lean / 2.0)) + whole) / whole)


def telling_reading(readings: Iterable[WitnessReading]) -> WitnessReading | None:
    """Give the reading of a shelf that says most: one half bent, else the hottest that went over.

    Bars tell only by going over.
    """
    known = list(readings)
    half = [r for r in known if r.form == "cone" and COUNTS_AS_BENT_DEG <= r.angle_deg < COUNTS_AS_END_DEG]
    over = [r for r in known if r.angle_deg >= COUNTS_AS_END_DEG]
    for group in (half, over):
        if group:
            return max(group, key=lambda reading: cone_position(reading.cone))
    return None


def read_shelves(
    readings: Sequence[WitnessReading], rate_c_per_h: float | None = None, series: str = SERIES
) -> tuple[ShelfReading, ...]:
    """Give the cone each shelf came to, from its cones and bars as found.

    Parameters
    ----------
    readings : sequence of WitnessReading
    rate_c_per_h : float or None
        The firing's rate over its last 100 °C; None takes the chart's middle rate.
    series : str

    Returns
    -------
    tuple of ShelfReading
        In the order the shelves come; a shelf where nothing moved is left out, since that only says "less".

    Raises
    ------
    MeasureError
        An angle that is not between 0 and 180, or a form that is neither cone nor bar.
    UnknownConeError
    """
    shelves: dict[str, list[WitnessReading]] = {}
    for reading in readings:
        parse_cone(reading.cone)
        if not 0.0 <= reading.angle_deg <= 180.0:
            raise MeasureError("lean of a cone", f"{reading.angle_deg!r} degrees; wanted: 0 to 180")
        if reading.form not in ("cone", "bar"):
            raise MeasureError("witness", f"{reading.form!r}; wanted: cone or bar")
        shelves.setdefault(reading.shelf.strip(), []).append(reading)
    rate = rate_c_per_h if rate_c_per_h is not None and rate_c_per_h > 0.0 else USUAL_RATE_C_PER_H
    processes = cone_processes(series)
    ends = [process.end_point_c(rate) for process in processes]
    found = []
    for shelf, group in shelves.items():
        told = telling_reading(group)
        if told is not None:
            found.append(_shelf(shelf, group, told, processes, ends))
    return tuple(found)


def _shelf(
    shelf: str,
    group: Sequence[WitnessReading],
    told: WitnessReading,
    processes: Sequence[ConeProcess],
    ends: Sequence[float],
) -> ShelfReading:
    cone = parse_cone(told.cone)
    place = next(i for i, process in enumerate(processes) if process.cone == cone)
    log_work = log_work_at(told.angle_deg) if told.angle_deg < COUNTS_AS_END_DEG else 0.0
    kelvin = ends[place] + ZERO_C_IN_K
    came_to = ends[place] + GAS_CONSTANT_KJ * kelvin**2 / processes[place].activation_kj * (log_work or 0.0)
    below = [i for i, end in enumerate(ends) if end <= came_to + 1e-9]
    ordered = sorted((r for r in group if r.form == "cone"), key=lambda r: cone_position(r.cone))
    doubtful = any(
        later.angle_deg > earlier.angle_deg + (COUNTS_AS_END_DEG - START_DEG) / 4.0
        for earlier, later in pairwise(ordered)
        if earlier.angle_deg < COUNTS_AS_END_DEG
    )
    over = told.angle_deg >= COUNTS_AS_END_DEG
    hotter_stood = any(cone_position(r.cone) > cone_position(cone) for r in group)
    if not below:
        return ShelfReading(shelf, None, None, processes[0].cone, False, doubtful)
    at = below[-1]
    following = processes[at + 1].cone if at + 1 < len(processes) else None
    fraction = None
    if not over and following is not None:
        fraction = (came_to - ends[at]) / (ends[at + 1] - ends[at])
    return ShelfReading(shelf, processes[at].cone, fraction, following, over and not hotter_stood, doubtful)
