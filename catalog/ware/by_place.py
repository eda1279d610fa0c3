"""What came out where in the kiln, over many loads: colour, gloss and faults by shelf and side."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from catalog.faults import effective_faults
from catalog.records import KeptReading, Piece
from vision.reading import Lab

__all__ = ["PlaceFigures", "by_place"]


@dataclass(frozen=True, slots=True)
class PlaceFigures:
    """What the pieces of one place came to.

    Attributes
    ----------
    shelf, side : None where nobody said
    pieces, loads : how many
    lab : mean CIELAB of their glaze, None where no colour was measured against card or chart
    measured : pieces behind `lab`
    delta_e_00 : CIEDE2000 from the mean of all places, None with `lab`
    gloss : mean gloss proxy, 0 to 1, None where it was not measured
    faulty : pieces with any fault that stands
    faults : (fault, pieces that have it), most first
    """

    shelf: str | None
    side: str | None
    pieces: int
    loads: int
    lab: Lab | None
    measured: int
    delta_e_00: float | None
    gloss: float | None
    faulty: int
    faults: tuple[tuple[str, int], ...]


def _reading(piece: Piece) -> KeptReading | None:
    return next((reading for reading in piece.readings if not reading.superseded), None)


def _lab(piece: Piece) -> tuple[float, float, float] | None:
    reading = _reading(piece)
    if reading is None or reading.tile.glaze is None or reading.calibration_kind == "none":
        return None
    return reading.tile.glaze.lab.as_tuple()


def by_place(
    pieces: Iterable[Piece], sides: Mapping[str, str], *, with_side: bool = True
) -> tuple[PlaceFigures, ...]:
    """Set the places of a kiln side by side.

    Parameters
    ----------
    pieces : best of one glaze on one clay, else colours say little
    sides : side by code
    with_side : keep sides apart; else whole shelves

    Returns
    -------
    One a place, shelves from top to bottom (other names after them), pieces without a shelf last. Colours
    without card or chart in the photo are left out of the means.
    """
    groups: dict[tuple[str | None, str | None], list[Piece]] = {}
    for piece in pieces:
        shelf = piece.shelf.strip().casefold() if piece.shelf else None
        groups.setdefault((shelf, sides.get(piece.code) if with_side else None), []).append(piece)
    every = [lab for group in groups.values() for piece in group if (lab := _lab(piece)) is not None]
    mean = None if not every else np.mean(np.array(every), axis=0)
    return tuple(_figures(*place, groups[place], mean) for place in sorted(groups, key=_order))


def _order(place: tuple[str | None, str | None]) -> tuple[int, str, str]:
    shelf, side = place
    known = {"top": 0, "middle": 1, "bottom": 2}
    return (9 if shelf is None else known.get(shelf, 3), shelf or "", side or "~")


def _figures(
    shelf: str | None, side: str | None, pieces: list[Piece], mean: np.ndarray | None
) -> PlaceFigures:
    labs = [lab for piece in pieces if (lab := _lab(piece)) is not None]
    colour: Lab | None = None
    off: float | None = None
    if labs and mean is not None:
        from vision.colour import delta_e_00

        own = np.mean(np.array(labs), axis=0)
        colour = Lab(*(float(value) for value in own))
        off = float(delta_e_00(own, mean))
    readings = [reading for piece in pieces if (reading := _reading(piece)) is not None]
    gloss = [r.tile.gloss.proxy for r in readings if r.tile.gloss.proxy is not None]
    faults = Counter(fault.fault for piece in pieces for fault in effective_faults(piece))
    return PlaceFigures(
        shelf,
        side,
        len(pieces),
        len({piece.load.id for piece in pieces if piece.load is not None}),
        colour,
        len(labs),
        off,
        float(np.mean(gloss)) if gloss else None,
        sum(1 for piece in pieces if effective_faults(piece)),
        tuple(faults.most_common()),
    )
