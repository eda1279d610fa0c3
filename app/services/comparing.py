"""Pieces set side by side: how far apart their colours are, and what differs in what they are made of."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

from app.words.choices import figure, length
from catalog.records import Piece, Recipe
from vision.colour import delta_e_00

__all__ = ["Comparison", "compare", "newest_reading"]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Pieces side by side.

    Attributes
    ----------
    apart : (first code, second code, CIEDE2000 difference of their glaze colours; None where one has none)
    differing : (what, its word for each piece), only what is not the same for all
    alike : what is the same for all, as "what: word"
    """

    apart: tuple[tuple[str, str, float | None], ...]
    differing: tuple[tuple[str, tuple[str, ...]], ...]
    alike: tuple[str, ...]


def newest_reading(piece: Piece):
    """Give the reading that stands and is newest, None without one."""
    return next((r for r in piece.readings if not r.superseded), None)


def compare(pieces: Sequence[Piece], recipe: Callable[[int], Recipe]) -> Comparison:
    """Compare pieces.

    Parameters
    ----------
    pieces : two or more
    recipe : gives a recipe revision by its number
    """
    rows = [*_firing(pieces), *_application(pieces), *_recipes(pieces, recipe)]
    differing = tuple((what, words) for what, words in rows if len(set(words)) > 1)
    alike = tuple(
        f"{what}: {words[0]}" for what, words in rows if len(set(words)) == 1 and words[0] != "not said"
    )
    return Comparison(tuple(_apart(one, two) for one, two in combinations(pieces, 2)), differing, alike)


def _apart(one: Piece, two: Piece) -> tuple[str, str, float | None]:
    glazes = [None if (r := newest_reading(piece)) is None else r.tile.glaze for piece in (one, two)]
    if glazes[0] is None or glazes[1] is None:
        return one.code, two.code, None
    return one.code, two.code, float(delta_e_00(glazes[0].lab.as_tuple(), glazes[1].lab.as_tuple()))


def _said(value: object) -> str:
    return "not said" if value in (None, "") else str(value)


def _firing(pieces: Sequence[Piece]) -> list[tuple[str, tuple[str, ...]]]:
    def own_cone(piece: Piece) -> str | None:
        cones = () if piece.load is None else piece.load.cones
        near = [c.cone for c in cones if c.shelf.casefold() == (piece.shelf or "").casefold()]
        return next(iter(near), None)

    def of_load(name: str) -> tuple[str, ...]:
        return tuple(_said(None if p.load is None else getattr(p.load, name)) for p in pieces)

    return [
        ("Load", of_load("name")),
        ("Kiln", of_load("kiln")),
        ("Cone aimed at", of_load("cone_aimed")),
        ("Atmosphere", of_load("atmosphere")),
        ("Shelf", tuple(_said(p.shelf) for p in pieces)),
        ("Witness cone there", tuple(_said(own_cone(p)) for p in pieces)),
    ]


def _application(pieces: Sequence[Piece]) -> list[tuple[str, tuple[str, ...]]]:
    rows = [("Clay body", tuple(_said(None if p.body is None else p.body.name) for p in pieces))]
    for place in range(max((len(p.layers) for p in pieces), default=0)):
        layers = [p.layers[place] if place < len(p.layers) else None for p in pieces]
        name = "Glaze" if max(len(p.layers) for p in pieces) == 1 else f"Layer {place + 1}"
        rows += [
            (name, tuple("none" if layer is None else layer.name for layer in layers)),
            (f"{name}: coats", tuple(_said(layer and layer.coats) for layer in layers)),
            (f"{name}: put on by", tuple(_said(layer and layer.method) for layer in layers)),
            (
                f"{name}: raw thickness",
                tuple(
                    _said(
                        None
                        if layer is None or layer.raw_thickness_mm is None
                        else length(layer.raw_thickness_mm)
                    )
                    for layer in layers
                ),
            ),
        ]
    return rows


def _recipes(pieces: Sequence[Piece], recipe: Callable[[int], Recipe]) -> list[tuple[str, tuple[str, ...]]]:
    """Give each material of the outermost glazes, where they are not all the same revision."""
    numbers = [
        next((layer.recipe_id for layer in reversed(p.layers) if layer.recipe_id), None) for p in pieces
    ]
    if len(set(numbers)) < 2:
        return []
    amounts = [{} if n is None else {line.material: line.amount for line in recipe(n).lines} for n in numbers]
    materials = dict.fromkeys(material for one in amounts for material in one)
    return [
        (
            f"{material}, parts",
            tuple(f"{figure(one[material])}" if material in one else "none" for one in amounts),
        )
        for material in materials
    ]
