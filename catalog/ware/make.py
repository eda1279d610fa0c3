"""How a piece was made, as far as a release test belongs to it: change one thing and the result lapses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from catalog.records import Piece

__all__ = ["Make", "make_of", "same_make"]


@dataclass(frozen=True, slots=True)
class Make:
    """Glazes with revision and coats, clay, kiln and firing of a piece, in plain values.

    `firing` is the load's schedule as planned with the cone aimed at and the atmosphere.
    """

    layers: list[list[object]]
    clay: str | None
    kiln: str | None
    firing: list[object]


def make_of(piece: Piece) -> Make:
    """Say how a piece was made."""
    load = piece.load
    firing: list[object] = []
    if load is not None:
        plan = [[s.rate_c_per_h, s.target_c, s.hold_min] for s in load.schedule]
        firing = [load.cone_aimed, load.atmosphere, plan]
    return Make(
        layers=[[layer.recipe_id, layer.name.casefold(), layer.coats] for layer in piece.layers],
        clay=None if piece.body is None else piece.body.name.casefold(),
        kiln=None if load is None else load.kiln.casefold(),
        firing=firing,
    )


def same_make(tested: Mapping[str, object], piece: Make) -> bool:
    """Tell whether a result of a tested piece holds for another.

    Only where everything is known and the same: an unknown clay, glaze or firing is no match.
    """
    known = bool(piece.layers) and piece.clay is not None and bool(piece.firing)
    known = known and all(layer[0] is not None for layer in piece.layers)
    return known and dict(tested) == asdict(piece)
