"""The cone ladder: cones as text, their order, and the steps between them.

"06" and "6" are over 200 °C apart, so a cone is never a number here. One step is one whole cone; the
half cones 05.5 and 5.5 stand half a step between their neighbours. Source of the ladder: the cones of
the manufacturer's chart kept in `data/cones.csv`.
"""

from __future__ import annotations

import re
from functools import cache

from catalog.firing.errors import UnknownConeError

__all__ = ["LADDER", "cone_position", "cone_steps", "cone_text", "parse_cone"]

LADDER: tuple[str, ...] = (
    *(f"0{n}" for n in range(22, 5, -1)),
    "05.5",
    *(f"0{n}" for n in range(5, 0, -1)),
    *(str(n) for n in range(1, 6)),
    "5.5",
    *(str(n) for n in range(6, 15)),
)
"""All cones, coolest first. `data/cones.csv` holds the same 38 in the same order (a test checks it)."""

_PREFIX = re.compile(r"^(?:cone\s*:?|\^|Δ|c)\s*", re.IGNORECASE)
_HALF = re.compile(r"\s*(?:½|1/2|,5)$")


def parse_cone(text: object) -> str:
    """Give the ladder's spelling of a cone.

    Parameters
    ----------
    text : str
        Such as "6", "06", "cone 04", "cone:06", "^6", "5.5", "5½", "05 1/2".

    Returns
    -------
    str
        A member of `LADDER`.

    Raises
    ------
    UnknownConeError
        The text names no cone, or something other than text was given (a bare 6 could be 06).
    """
    if not isinstance(text, str):
        raise UnknownConeError(text)
    return _parse(text)


@cache
def _parse(text: str) -> str:
    bare = _PREFIX.sub("", text.strip())
    bare = _HALF.sub(".5", bare)
    if bare not in LADDER:
        raise UnknownConeError(text)
    return bare


def cone_position(text: str) -> float:
    """Give a cone's place on the ladder in whole cones: 01 is -1, 1 is 0, 5.5 is 4.5, 05.5 is -5.5.

    Raises
    ------
    UnknownConeError
        As `parse_cone`.
    """
    cone = parse_cone(text)
    return -float(cone) if cone.startswith("0") else float(cone) - 1.0


def cone_steps(reached: str, aimed: str) -> float:
    """Give how many cones `reached` is above `aimed`; negative is cooler. 01 to 1 is one step."""
    return cone_position(reached) - cone_position(aimed)


def cone_text(position: float) -> str:
    """Give the cone of the ladder nearest to a position (the inverse of `cone_position`)."""
    return min(LADDER, key=lambda cone: abs(cone_position(cone) - position))
