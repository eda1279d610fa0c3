"""Blends of two and three recipes by dry weight, worked in exact fractions and rounded once at the end."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from catalog.glaze.batch import SOLIDS_DENSITY_G_PER_ML, slip_dry_g_per_ml
from catalog.glaze.errors import BlendError, RecipeAmountError
from catalog.glaze.materials import Material, find_material
from catalog.records import RecipeLine

__all__ = ["BlendPoint", "blend", "dry_shares_of_slips", "line_blend", "triaxial_blend"]


@dataclass(frozen=True, slots=True)
class BlendPoint:
    """One point of a blend.

    Attributes
    ----------
    shares : tuple of Fraction
        Share of each parent by dry weight, adding to exactly 1.
    lines : tuple of RecipeLine
        Base to 100, additions above it.
    """

    shares: tuple[Fraction, ...]
    lines: tuple[RecipeLine, ...]

    @property
    def percents(self) -> tuple[float, ...]:
        """The shares as numbers, 0 to 1."""
        return tuple(float(share) for share in self.shares)


def blend(
    parents: Sequence[Sequence[RecipeLine]],
    shares: Sequence[Fraction | int],
    own: Mapping[str, Material] | None = None,
) -> BlendPoint:
    """Mix recipes by dry weight.

    Parameters
    ----------
    parents : sequence of sequences of RecipeLine
        Each of any total; its additions are part of its dry weight.
    shares : sequence of Fraction or int
        Parts of each parent, of any total.
    own : mapping of str to Material, optional
        As in `formula.formula_of`.

    Returns
    -------
    BlendPoint
        Materials that are one under two names are joined under the name met first; a material that is base
        in one parent and addition in another stays in two lines. Parents with no share bring no line.

    Raises
    ------
    BlendError
        Shares and parents do not pair, or no share is above zero.
    UnknownMaterialError, RecipeAmountError
        As `formula_of`.
    """
    if len(parents) != len(shares):
        raise BlendError(f"{len(parents)} recipes and {len(shares)} shares; wanted: one share a recipe")
    parts = [Fraction(share) for share in shares]
    total = sum(parts, Fraction(0))
    if total <= 0 or min(parts) < 0:
        raise BlendError("wanted: shares of zero or more, at least one above zero")
    parts = [part / total for part in parts]
    sums: dict[tuple[str, bool], Fraction] = {}
    written: dict[tuple[str, bool], str] = {}
    for parent, part in zip(parents, parts, strict=True):
        amounts = [_exact(line) for line in parent]
        parent_total = sum(amounts, Fraction(0))
        if parent_total <= 0:
            raise BlendError("a recipe holds no material with an amount above zero")
        if part == 0:
            continue
        for line, amount in zip(parent, amounts, strict=True):
            key = (find_material(line.material, own).name, line.addition)
            written.setdefault(key, line.material)
            sums[key] = sums.get(key, Fraction(0)) + part * amount / parent_total
    base = sum((amount for (_, addition), amount in sums.items() if not addition), Fraction(0))
    if base <= 0:
        raise BlendError("the blend has no base, only additions")
    ordered = sorted(sums, key=lambda key: key[1])
    lines = tuple(RecipeLine(written[key], float(100 * sums[key] / base), key[1]) for key in ordered)
    return BlendPoint(tuple(parts), lines)


def line_blend(
    one: Sequence[RecipeLine],
    other: Sequence[RecipeLine],
    steps: int,
    own: Mapping[str, Material] | None = None,
) -> tuple[BlendPoint, ...]:
    """Give the points from one recipe to another, both ends included.

    Parameters
    ----------
    one, other : sequence of RecipeLine
    steps : int
        Steps between the ends, 1 or more; there is a point more than steps.
    own : mapping of str to Material, optional

    Raises
    ------
    BlendError
        `steps` below 1, and as `blend`.
    """
    _check_steps(steps)
    return tuple(
        blend((one, other), (Fraction(steps - step, steps), Fraction(step, steps)), own)
        for step in range(steps + 1)
    )


def triaxial_blend(
    corners: Sequence[Sequence[RecipeLine]], steps: int, own: Mapping[str, Material] | None = None
) -> tuple[BlendPoint, ...]:
    """Give the points of the triangle between three recipes, corners and edges included.

    Parameters
    ----------
    corners : sequence of three sequences of RecipeLine
    steps : int
        Steps along an edge, 1 or more; there are (steps + 1)(steps + 2)/2 points, row by row from the
        first corner to the edge across from it.
    own : mapping of str to Material, optional

    Raises
    ------
    BlendError
        Not three corners, `steps` below 1, and as `blend`.
    """
    if len(corners) != 3:
        raise BlendError(f"{len(corners)} recipes; wanted: three")
    _check_steps(steps)
    return tuple(
        blend(
            corners,
            (Fraction(steps - row, steps), Fraction(row - column, steps), Fraction(column, steps)),
            own,
        )
        for row in range(steps + 1)
        for column in range(row + 1)
    )


def dry_shares_of_slips(
    slip_ml: Sequence[float],
    specific_gravities: Sequence[float],
    solids_density_g_per_ml: float = SOLIDS_DENSITY_G_PER_ML,
) -> tuple[Fraction, ...]:
    """Give the dry shares of slips measured out by volume, for `blend`.

    Raises
    ------
    BlendError
        Volumes and specific gravities do not pair, or a volume is negative.
    BatchError
        A specific gravity is that of no slip.
    """
    if len(slip_ml) != len(specific_gravities):
        raise BlendError(f"{len(slip_ml)} volumes and {len(specific_gravities)} specific gravities")
    if any(not math.isfinite(ml) or ml < 0.0 for ml in slip_ml) or not any(slip_ml):
        raise BlendError("wanted: volumes of zero or more, at least one above zero")
    grams = [
        Fraction(ml) * Fraction(slip_dry_g_per_ml(gravity, solids_density_g_per_ml))
        for ml, gravity in zip(slip_ml, specific_gravities, strict=True)
    ]
    total = sum(grams, Fraction(0))
    return tuple(gram / total for gram in grams)


def _check_steps(steps: int) -> None:
    if isinstance(steps, bool) or not isinstance(steps, int) or steps < 1:
        raise BlendError(f"{steps!r} steps; wanted: a whole number, 1 or more")


def _exact(line: RecipeLine) -> Fraction:
    """Take the amount as the decimal that was written: 0.1 is one tenth, not the nearest binary number."""
    if isinstance(line.amount, bool) or not math.isfinite(line.amount) or line.amount < 0.0:
        raise RecipeAmountError(line.material, line.amount)
    return Fraction(repr(line.amount))
