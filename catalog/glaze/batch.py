"""From a recipe to a bucket: base to 100, a dry batch in grams, and the water for a slip or a coat.

Slip solids follow Brongniart's relation: a slip of specific gravity S whose dry solids have density d holds
(S - 1) d / (d - 1) grams of solids in a millilitre (water taken as 1 g/mL).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import accumulate

from catalog.glaze.errors import BatchError, EmptyRecipeError, RecipeAmountError
from catalog.records import RecipeLine

__all__ = [
    "SOLIDS_DENSITY_G_PER_ML",
    "Batch",
    "WeighedLine",
    "batch_for",
    "retotal",
    "slip_dry_g_per_ml",
    "slip_ml_for_coat",
    "specific_gravity_for_coat",
]

SOLIDS_DENSITY_G_PER_ML = 2.60
"""Density of the dry solids of a glaze slip: near quartz 2.65, feldspar 2.56, kaolin 2.6 (handbook values,
recalled); heavy with zircon, tin, barium or lead, where a measured figure belongs."""


@dataclass(frozen=True, slots=True)
class WeighedLine:
    """One material to weigh out.

    Attributes
    ----------
    material : str
        As the recipe writes it.
    grams : float
        What goes on the scale, its moisture included.
    dry_g : float
        What of that is dry material.
    addition : bool
        True above the base.
    """

    material: str
    grams: float
    dry_g: float
    addition: bool


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch to mix.

    Attributes
    ----------
    lines : tuple of WeighedLine
    dry_g : float
        Dry material, additions included.
    water_g : float or None
        Water to add (what damp materials bring is taken off); None when no specific gravity was wanted.
    slip_ml : float or None
        Volume of slip it makes.
    specific_gravity : float or None
        As wanted.
    """

    lines: tuple[WeighedLine, ...]
    dry_g: float
    water_g: float | None
    slip_ml: float | None
    specific_gravity: float | None

    @property
    def running_total_g(self) -> tuple[float, ...]:
        """What the scale reads after each line, weighed into one bucket."""
        return tuple(accumulate(line.grams for line in self.lines))


def retotal(lines: Iterable[RecipeLine]) -> tuple[RecipeLine, ...]:
    """Bring the base to 100; additions keep their ratio to the base and stand above it.

    Raises
    ------
    RecipeAmountError
        An amount is negative or no finite number.
    EmptyRecipeError
        The base holds nothing.
    """
    kept = tuple(lines)
    for line in kept:
        if isinstance(line.amount, bool) or not math.isfinite(line.amount) or line.amount < 0.0:
            raise RecipeAmountError(line.material, line.amount)
    base = math.fsum(line.amount for line in kept if not line.addition)
    if base <= 0.0:
        raise EmptyRecipeError("the base holds no material with an amount above zero")
    return tuple(RecipeLine(line.material, 100.0 * line.amount / base, line.addition) for line in kept)


def slip_dry_g_per_ml(
    specific_gravity: float, solids_density_g_per_ml: float = SOLIDS_DENSITY_G_PER_ML
) -> float:
    """Give the dry solids in a millilitre of slip (Brongniart).

    Parameters
    ----------
    specific_gravity : float
        Of the slip, above 1 and below the density of its solids.
    solids_density_g_per_ml : float
        Above 1.

    Raises
    ------
    BatchError
        The figures are no slip.
    """
    if not 1.0 < solids_density_g_per_ml < math.inf:
        raise BatchError(f"density of the solids {solids_density_g_per_ml!r}; wanted: above 1 g/mL")
    if not 1.0 < specific_gravity < solids_density_g_per_ml:
        raise BatchError(
            f"specific gravity {specific_gravity!r}; wanted: above 1 and below that of the dry solids, "
            f"{solids_density_g_per_ml}"
        )
    return (specific_gravity - 1.0) * solids_density_g_per_ml / (solids_density_g_per_ml - 1.0)


def slip_ml_for_coat(
    coat_g_per_cm2: float,
    specific_gravity: float,
    solids_density_g_per_ml: float = SOLIDS_DENSITY_G_PER_ML,
) -> float:
    """Give the millilitres of slip that leave a dry coat of this weight on a square centimetre.

    Raises
    ------
    BatchError
        The coat weighs nothing, or the figures are no slip.
    """
    if not 0.0 < coat_g_per_cm2 < math.inf:
        raise BatchError(f"dry coat {coat_g_per_cm2!r} g/cm2; wanted: above zero")
    return coat_g_per_cm2 / slip_dry_g_per_ml(specific_gravity, solids_density_g_per_ml)


def specific_gravity_for_coat(
    coat_g_per_cm2: float,
    water_taken_g_per_cm2: float,
    solids_density_g_per_ml: float = SOLIDS_DENSITY_G_PER_ML,
) -> float:
    """Give the specific gravity of a slip that leaves a coat when the body takes up this much water.

    Parameters
    ----------
    coat_g_per_cm2 : float
        Dry coat wanted.
    water_taken_g_per_cm2 : float
        Water the bisque takes up in the dip and the drying, weighed once on a piece dipped as usual:
        (wet weight - dry weight) over the dipped area.
    solids_density_g_per_ml : float

    Returns
    -------
    float
        Weight over volume of the slip that holds both: (c + w) / (c/d + w).

    Raises
    ------
    BatchError
        A figure is not above zero.
    """
    if not (0.0 < coat_g_per_cm2 < math.inf and 0.0 < water_taken_g_per_cm2 < math.inf):
        raise BatchError(
            f"dry coat {coat_g_per_cm2!r} and water {water_taken_g_per_cm2!r} g/cm2; wanted: both above zero"
        )
    volume = coat_g_per_cm2 / solids_density_g_per_ml + water_taken_g_per_cm2
    return (coat_g_per_cm2 + water_taken_g_per_cm2) / volume


def batch_for(
    lines: Iterable[RecipeLine],
    dry_g: float,
    *,
    specific_gravity: float | None = None,
    solids_density_g_per_ml: float = SOLIDS_DENSITY_G_PER_ML,
    moisture_pct: Mapping[str, float] | None = None,
) -> Batch:
    """Scale a recipe to a dry batch and give its water.

    Parameters
    ----------
    lines : iterable of RecipeLine
        Any total.
    dry_g : float
        Dry grams of the whole batch, additions included.
    specific_gravity : float or None
        Of the slip wanted.
    solids_density_g_per_ml : float
    moisture_pct : mapping of str to float, optional
        Water in damp materials by the name the recipe writes, weight per cent of the damp material.

    Raises
    ------
    BatchError
        A weight, moisture or specific gravity that cannot be, or materials so damp that no water is left to
        add.
    RecipeAmountError, EmptyRecipeError
        As `retotal`.
    """
    if not 0.0 < dry_g < math.inf:
        raise BatchError(f"dry batch {dry_g!r} g; wanted: above zero")
    hundred = retotal(lines)
    total = math.fsum(line.amount for line in hundred)
    moistures = moisture_pct or {}
    weighed = []
    for line in hundred:
        damp = moistures.get(line.material, 0.0)
        if not 0.0 <= damp < 100.0:
            raise BatchError(f"{line.material}: moisture {damp!r} %; wanted: 0 or more, below 100")
        dry = dry_g * line.amount / total
        weighed.append(WeighedLine(line.material, dry / (1.0 - damp / 100.0), dry, line.addition))
    if specific_gravity is None:
        return Batch(tuple(weighed), dry_g, None, None, None)
    slip_ml = dry_g / slip_dry_g_per_ml(specific_gravity, solids_density_g_per_ml)
    brought = math.fsum(line.grams - line.dry_g for line in weighed)
    water = slip_ml * specific_gravity - dry_g - brought
    if water < 0.0:
        raise BatchError(
            f"the damp materials bring {brought:.0f} g of water, more than the slip of specific gravity "
            f"{specific_gravity} holds"
        )
    return Batch(tuple(weighed), dry_g, water, slip_ml, specific_gravity)
