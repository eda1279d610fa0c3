"""Facts about who else shows it: the pieces of one load set against each other, with counts and exact tests.

A pattern is claimed only when counts bear it out: "only one glaze" when the chance that all affected pieces
would fall into that glaze by lot (Fisher's exact test, one-sided) is at most 1 in 20 and there are three or
more of them. Two tiles out of two are no pattern.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from catalog.causes.errors import UnknownFaultError
from catalog.causes.exact_test import CHANCE_LIMIT, FEWEST_AFFECTED
from catalog.causes.fact import Fact, Origin
from catalog.causes.image_facts import MARKS_OF_FAULT, best_reading, counted_marks
from catalog.causes.knowledge import fault_of
from catalog.faults import effective_faults
from catalog.records import Piece

__all__ = [
    "chance_all_in_group",
    "family",
    "looked_at",
    "marks_and_area",
    "pattern_facts",
    "shows",
    "thick_over_thin",
]

_FEWEST_PIECES = 4
_FEWEST_GLAZES = 3
_THICKER_BY = 1.8
"""Thick must be at least this many times thin (our choice: two coats against one)."""

_FAMILY = {"crater": "blister", "pit_dimple": "pinhole", "speck_foreign": "speck_dark"}
"""Faults that are read as one when pieces are compared."""


def family(word: str) -> str | None:
    """Give the fault under which pieces are compared; None for a word without causes."""
    try:
        name = fault_of(word)
    except UnknownFaultError:
        return None
    return _FAMILY.get(name, name)


def shows(piece: Piece, fault: str) -> bool:
    """Tell whether a fault (or one of its family) stands on a piece, a person's word first."""
    wanted = _FAMILY.get(fault, fault)
    return any(family(found.fault) == wanted for found in effective_faults(piece))


def looked_at(piece: Piece) -> bool:
    """Tell whether a photo or a person has looked at a piece."""
    current = any(not reading.superseded for reading in piece.readings)
    return current or any(judgement.about == "fault" for judgement in piece.judgements)


def _glaze(piece: Piece) -> str | None:
    return piece.layers[-1].name.casefold() if piece.layers else None


def _body(piece: Piece) -> str | None:
    return None if piece.body is None else piece.body.name.casefold()


def _shelf(piece: Piece) -> str | None:
    return None if piece.shelf is None else piece.shelf.casefold()


def chance_all_in_group(affected: int, in_group: int, total: int) -> float:
    """Give the chance that all affected pieces fall into one group by lot.

    Parameters
    ----------
    affected, in_group, total : int
        Pieces that show the fault, pieces of the group, pieces in all; affected <= in_group <= total.

    Returns
    -------
    float
        One-sided Fisher exact probability of the table with no affected piece outside the group.
    """
    return math.comb(in_group, affected) / math.comb(total, affected)


@dataclass(frozen=True, slots=True)
class _Trait:
    key: str
    noun: str
    of: Callable[[Piece], str | None]


_TRAITS = (
    _Trait("spread.one_glaze_only", "glaze", _glaze),
    _Trait("spread.one_body_only", "clay", _body),
    _Trait("spread.one_shelf_only", "shelf", _shelf),
)


def pattern_facts(piece: Piece, fault: str, load_pieces: Iterable[Piece]) -> dict[str, Fact]:
    """Give the facts that a load's pieces answer about a fault together.

    Parameters
    ----------
    piece : Piece
        The piece asked about.
    fault : str
        The fault's own name.
    load_pieces : iterable of Piece
        All pieces of its load; those that nobody and no photo has looked at are left out.

    Returns
    -------
    dict of str to Fact
        Only what the counts bear out; each sentence says the counts.
    """
    pieces = [other for other in load_pieces if looked_at(other)]
    if all(other.id != piece.id for other in pieces):
        pieces.append(piece)
    affected = [other for other in pieces if other.id == piece.id or shows(other, fault)]
    facts: list[Fact] = []
    if len(pieces) >= _FEWEST_PIECES:
        share = 100.0 * len(affected) / len(pieces)
        text = f"{len(affected)} of the {len(pieces)} pieces of this load that were looked at show it"
        facts.append(_inferred("spread.load_share_pct", share, text))
        for trait in _TRAITS:
            facts += _only_one(trait, pieces, affected)
        facts += _all_glazes(pieces, affected)
    facts += _tile_clean(piece, fault, pieces)
    facts += _thick_thin(piece, fault, pieces)
    return {fact.key: fact for fact in facts}


def _inferred(key: str, value: bool | float, sentence: str, certainty: float = 1.0) -> Fact:
    return Fact(key, value, Origin.INFERRED, sentence, certainty)


def _only_one(trait: _Trait, pieces: Sequence[Piece], affected: Sequence[Piece]) -> list[Fact]:
    counted = [p for p in pieces if trait.of(p) is not None]
    totals = Counter(trait.of(p) for p in counted)
    hit = Counter(trait.of(p) for p in affected if trait.of(p) is not None)
    if len(totals) < 2 or not hit:
        return []
    if len(hit) > 1:
        text = f"It is not on one {trait.noun} alone: on {len(hit)} of {len(totals)} in this load"
        sure = 1.0 if sorted(hit.values())[-2] > 1 else 0.7
        return [_inferred(trait.key, False, text, sure)]
    (name,) = hit
    inside, all_hit = totals[name], hit[name]
    chance = chance_all_in_group(all_hit, inside, len(counted))
    if chance > CHANCE_LIMIT or all_hit < FEWEST_AFFECTED:
        return []
    text = (
        f"All {all_hit} affected pieces share one {trait.noun} ({all_hit} of {inside} with it, "
        f"0 of {len(counted) - inside} without; by lot that would happen {100 * chance:.1f} times in 100)"
    )
    return [_inferred(trait.key, True, text)]


def _all_glazes(pieces: Sequence[Piece], affected: Sequence[Piece]) -> list[Fact]:
    glazes = {g for p in pieces if (g := _glaze(p)) is not None}
    hit = {g for p in affected if (g := _glaze(p)) is not None}
    if len(glazes) < _FEWEST_GLAZES:
        return []
    most = len(hit) > len(glazes) / 2
    how = "More" if most else "Not more"
    text = f"{how} than half of the glazes in this load show it: {len(hit)} of {len(glazes)}"
    return [_inferred("spread.all_glazes", most, text)]


def _tile_clean(piece: Piece, fault: str, pieces: Sequence[Piece]) -> list[Fact]:
    if piece.kind != "ware" or _glaze(piece) is None or _body(piece) is None:
        return []
    same = [
        p
        for p in pieces
        if p.kind == "tile" and _glaze(p) == _glaze(piece) and _body(p) == _body(piece) and p.id != piece.id
    ]
    if not same:
        return []
    bad = sum(shows(p, fault) for p in same)
    text = f"{bad} of {len(same)} tiles of the same glaze and clay in this load show it"
    return [_inferred("spread.test_tile_ok", bad == 0, text)]


def _thickness(piece: Piece) -> float | None:
    """Dry thickness of all layers together, or coats where no thickness was measured; None if not known."""
    thick = [layer.raw_thickness_mm for layer in piece.layers]
    if thick and all(value is not None for value in thick):
        return sum(value for value in thick if value is not None)
    coats = [layer.coats for layer in piece.layers]
    if coats and all(value is not None for value in coats):
        return float(sum(value for value in coats if value is not None))
    return None


def _measured_in_mm(piece: Piece) -> bool:
    return bool(piece.layers) and all(layer.raw_thickness_mm is not None for layer in piece.layers)


def thick_over_thin(thick: tuple[int, float], thin: tuple[int, float]) -> tuple[float, float]:
    """Compare the density of marks on thick and thin pieces.

    Parameters
    ----------
    thick, thin : (marks, area in cm2)

    Returns
    -------
    ratio : float
        Density on thick over that on thin; a thin side without marks counts as half a mark.
    chance : float
        Two-sided exact binomial chance of a split as uneven, were the densities equal (0 to 1).
    """
    (many, large), (few, small) = thick, thin
    total, share = many + few, large / (large + small)
    weights = [math.comb(total, k) * share**k * (1.0 - share) ** (total - k) for k in range(total + 1)]
    chance = sum(w for w in weights if w <= weights[many] * (1.0 + 1e-9))
    return (many / large) / (max(few, 0.5) / small), min(1.0, chance)


def _thick_thin(piece: Piece, fault: str, pieces: Sequence[Piece]) -> list[Fact]:
    if fault not in MARKS_OF_FAULT or _glaze(piece) is None:
        return []
    alike = [
        p
        for p in pieces
        if _glaze(p) == _glaze(piece)
        and _body(p) == _body(piece)
        and _measured_in_mm(p) == _measured_in_mm(piece)
    ]
    known = [(t, p) for p in alike if (t := _thickness(p)) is not None]
    if len(known) < 2:
        return []
    top, bottom = max(t for t, _ in known), min(t for t, _ in known)
    if bottom <= 0.0 or top < _THICKER_BY * bottom:
        return []
    thick = marks_and_area([p for t, p in known if t == top], fault)
    thin = marks_and_area([p for t, p in known if t == bottom], fault)
    if thick is None or thin is None or thick[0] + thin[0] == 0:
        return []
    ratio, chance = thick_over_thin(thick, thin)
    if chance > CHANCE_LIMIT:
        return []
    text = (
        f"On the thickest sister pieces marks are {ratio:.1f} times as dense as on the thinnest "
        f"({thick[0]} marks on {thick[1]:.0f} cm² against {thin[0]} on {thin[1]:.0f} cm²)"
    )
    return [_inferred("image.density_thick_vs_thin", ratio, text, 0.8)]


def marks_and_area(pieces: Sequence[Piece], fault: str) -> tuple[int, float] | None:
    """Give how many marks of a fault stand on how many cm2 of glaze; None without a measured area."""
    marks, area = 0, 0.0
    for piece in pieces:
        reading = best_reading(piece, ())
        if reading is None or reading.tile.glaze is None or not reading.tile.glaze.area_cm2:
            continue
        marks += len(counted_marks(reading.tile, fault))
        area += reading.tile.glaze.area_cm2
    return (marks, area) if area > 0.0 else None
