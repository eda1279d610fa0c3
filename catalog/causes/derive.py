"""All facts that the catalogue can answer about a fault on a piece, each with where it came from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from catalog.causes.bench_facts import bench_facts
from catalog.causes.errors import CausesError
from catalog.causes.fact import Fact, Origin, checked
from catalog.causes.image_facts import image_facts
from catalog.causes.knowledge import fault_of
from catalog.causes.pattern_facts import pattern_facts
from catalog.causes.record_facts import (
    application_facts,
    body_facts,
    cone_facts,
    load_facts,
    outer_recipe,
    recipe_record_facts,
)
from catalog.causes.shop_facts import ShopKnowledge, clay_facts, course_log_facts, glaze_facts
from catalog.faults import fault_word
from catalog.records import FactValue, Piece, Recipe

__all__ = ["DerivedFacts", "derive_facts"]


@dataclass(frozen=True, slots=True)
class DerivedFacts:
    """Facts by key, and notes on what in the records could not be used."""

    facts: dict[str, Fact]
    notes: tuple[str, ...] = field(default=())


def derive_facts(
    piece: Piece,
    fault: str,
    *,
    recipes: Mapping[int, Recipe] | None = None,
    load_pieces: Iterable[Piece] = (),
    shop: ShopKnowledge | None = None,
) -> DerivedFacts:
    """Give every fact that the records answer about a fault on a piece.

    Parameters
    ----------
    piece : Piece
        With its body, layers, load and readings.
    fault : str
        Any word `knowledge.fault_of` takes.
    recipes : mapping of int to Recipe, optional
        Recipes by number; those of the piece's layers are used (the outermost layer's speaks).
    load_pieces : iterable of Piece
        All pieces of the same load, for the patterns.
    shop : ShopKnowledge, optional
        What the workshop knows: own materials, logs, the clay's measures (`shop_facts`).

    Returns
    -------
    DerivedFacts
        Weakest source first, each overruled by the next: what the photo shows and the records and sister
        pieces imply; what is recorded as a fact of recipe, body and load; what a person answered for this
        piece. A witness cone outranks a plan. Recorded facts that the vocabulary does not hold are named in
        the notes and left out.

    Raises
    ------
    UnknownFaultError
        No causes are known under that word.
    """
    name = fault_of(fault)
    facts: dict[str, Fact] = {}
    notes: list[str] = []
    words = {fault_word(fault), fault_word(name), name}
    facts |= image_facts(piece, name, sorted(words))
    facts |= application_facts(piece)
    facts |= body_facts(piece)
    shop = shop or ShopKnowledge()
    facts |= clay_facts(shop)
    if shop.bench is not None:
        fired_on = None if piece.load is None else piece.load.fired_on
        facts |= bench_facts(shop.bench, name, fired_on)
    recipe = outer_recipe(piece, recipes or {})
    if recipe is not None:
        reducing = piece.load is not None and (piece.load.atmosphere or "").endswith("_reduction")
        found, why_not = recipe_record_facts(recipe, reduction=reducing, own=shop.own)
        facts |= found | glaze_facts(recipe, shop, reduction=reducing)
        notes += why_not
        facts |= _recorded(recipe.facts, Origin.RECORDED, f"recipe {recipe.name}", notes)
    if piece.body is not None:
        facts |= _recorded(piece.body.facts, Origin.RECORDED, f"clay {piece.body.name}", notes)
    if piece.load is not None:
        facts |= load_facts(piece.load, piece.shelf) | course_log_facts(piece.load, shop)
        facts |= cone_facts(piece.load, piece.shelf, facts, shop.log)
        facts |= pattern_facts(piece, name, load_pieces)
        facts |= _recorded(piece.load.facts, Origin.RECORDED, f"load {piece.load.name}", notes)
    facts |= _recorded(piece.facts, Origin.ANSWERED, f"piece {piece.code}", notes)
    return DerivedFacts(facts, tuple(notes))


def _recorded(kept: Mapping[str, FactValue], origin: Origin, where: str, notes: list[str]) -> dict[str, Fact]:
    found: dict[str, Fact] = {}
    for key, value in kept.items():
        try:
            found |= checked({key: value}, origin)
        except CausesError as error:
            notes.append(f"A fact kept with {where} is not used: {error}.")
    return found
