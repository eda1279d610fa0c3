"""Replace a material in a recipe, keeping the unity formula as near as it will go, and show what moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from catalog.glaze.batch import retotal
from catalog.glaze.errors import SubstitutionError
from catalog.glaze.formula import formula_of
from catalog.glaze.from_formula import recipe_for_unity
from catalog.glaze.materials import Material, find_material
from catalog.glaze.oxides import OXIDES
from catalog.records import RecipeLine

__all__ = ["OxideMove", "Substitution", "largest_move", "substitute"]

NOTICED_MOVE = 0.005
"""A change of the unity formula below this does not show at two decimals (our choice)."""


@dataclass(frozen=True, slots=True)
class OxideMove:
    """One oxide of the unity formula before and after."""

    oxide: str
    before: float
    after: float

    @property
    def change(self) -> float:
        """Moles gained, in the unity formula."""
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class Substitution:
    """A recipe with a material replaced.

    Attributes
    ----------
    lines : tuple of RecipeLine
        Base to 100; additions in the same ratio to the flux as before, so that the fired glaze keeps them.
    moves : tuple of OxideMove
        Every oxide of either formula, in the order they are shown.
    loi_before_pct, loi_after_pct : float
        Loss on ignition: what the change does to gas and to the raw coat.
    dropped : tuple of str
        Materials of the old base that the new one does without.
    """

    lines: tuple[RecipeLine, ...]
    moves: tuple[OxideMove, ...]
    loi_before_pct: float
    loi_after_pct: float
    dropped: tuple[str, ...]

    @property
    def moved(self) -> tuple[OxideMove, ...]:
        """The oxides whose change shows at two decimals, largest first; empty when the formula is kept."""
        seen = [move for move in self.moves if abs(move.change) >= NOTICED_MOVE]
        return tuple(sorted(seen, key=lambda move: -abs(move.change)))


def substitute(
    lines: Sequence[RecipeLine],
    replaced: str,
    replacements: Sequence[str],
    own: Mapping[str, Material] | None = None,
) -> Substitution:
    """Replace a material of the base, letting all others move to keep the unity formula.

    Parameters
    ----------
    lines : sequence of RecipeLine
    replaced : str
        The material to do without, under any of its names.
    replacements : sequence of str
        What may take its place, together with the rest of the base.
    own : mapping of str to Material, optional

    Raises
    ------
    SubstitutionError
        The base holds no such material, no replacement is given, the base has no flux, or the materials left
        bring none.
    UnknownMaterialError, RecipeAmountError, EmptyRecipeError
        As `formula_of`.
    """
    hundred = retotal(lines)
    out = find_material(replaced, own).name
    base = [line for line in hundred if not line.addition and line.amount > 0.0]
    additions = [line for line in hundred if line.addition]
    kept = [line.material for line in base if find_material(line.material, own).name != out]
    if len(kept) == len(base):
        raise SubstitutionError(f"the base holds no {replaced}")
    if not replacements:
        raise SubstitutionError("wanted: at least one material to take its place")
    base_formula = formula_of(base, own)
    unity = base_formula.unity
    if unity is None:
        raise SubstitutionError("the base has no flux, so there is no unity formula to keep")
    names = list(kept)
    present = {find_material(name, own).name for name in kept}
    for name in replacements:
        material = find_material(name, own).name
        if material == out:
            raise SubstitutionError(f"{name} is the material to be replaced")
        if material not in present:
            present.add(material)
            names.append(name)
    nearest = recipe_for_unity(unity, names, own)
    richer = formula_of(nearest.lines, own).flux_mol / base_formula.flux_mol
    new_lines = (
        *nearest.lines,
        *(RecipeLine(line.material, line.amount * richer, addition=True) for line in additions),
    )
    before, after = formula_of(hundred, own), formula_of(new_lines, own)
    was, now = before.unity or {}, after.unity or {}
    return Substitution(
        lines=new_lines,
        moves=tuple(
            OxideMove(oxide, was.get(oxide, 0.0), now.get(oxide, 0.0))
            for oxide in OXIDES
            if oxide in was or oxide in now
        ),
        loi_before_pct=before.loi_pct,
        loi_after_pct=after.loi_pct,
        dropped=tuple(name for name in nearest.unused if name in kept),
    )


def largest_move(substitution: Substitution) -> float:
    """Give the largest change of one oxide in the unity formula, in moles."""
    return max((abs(move.change) for move in substitution.moves), default=0.0)
