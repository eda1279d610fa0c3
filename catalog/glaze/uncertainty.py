"""How sure a computed figure is: the doubt of each weighing and each analysis carried to the answer.

Every "plus or minus" here spans two standard deviations (about 95 times in 100). The carrying is linear:
each weight and each analysed oxide is moved by its own doubt, up and down, and half the change of the answer
it makes is added in squares (GUM, JCGM 100:2008, section 5.1, with differences in place of derivatives).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from catalog.glaze.formula import Formula, WeighedMaterial, formula_of_weighed, weigh
from catalog.glaze.materials import Material
from catalog.records import RecipeLine

__all__ = [
    "DOUBTS",
    "Doubtful",
    "Doubts",
    "UnityChange",
    "compare_unity",
    "doubt_of",
    "formula_figures",
]


@dataclass(frozen=True, slots=True)
class Doubts:
    """Doubt of what goes in, plus or minus, per cent of each weight (two standard deviations).

    Attributes
    ----------
    weighing_pct : float
        Of each weight on the scale.
    analysis_pct : float
        Of each oxide of an ideal composition or of one's own analysis.
    typical_pct : float
        Of each oxide of a typical or made-up analysis, which is not that of the bag (our choice: natural
        materials of one kind differ by more than any laboratory errs).
    """

    weighing_pct: float = 0.5
    analysis_pct: float = 0.5
    typical_pct: float = 5.0

    def of_material(self, material: Material) -> float:
        """Give the doubt of each oxide of a material, per cent of its weight."""
        known = material.kind in ("theoretical", "analysis")
        return self.analysis_pct if known else self.typical_pct


DOUBTS = Doubts()


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A figure and what it may be off by (two standard deviations)."""

    value: float
    plus_minus: float

    def crosses(self, limit: float) -> bool:
        """Say whether the doubt reaches over a limit, so that it decides the answer."""
        return abs(self.value - limit) <= self.plus_minus

    def differs_from(self, other: Doubtful) -> bool:
        """Say whether two figures of independent doubt differ by more than both together."""
        return abs(self.value - other.value) > math.hypot(self.plus_minus, other.plus_minus)


@dataclass(frozen=True, slots=True)
class UnityChange:
    """One oxide of the unity formula in two recipes; `told` is False where doubt could make the change."""

    oxide: str
    before: Doubtful
    after: Doubtful
    told: bool

    @property
    def moved(self) -> float:
        """Moles gained."""
        return self.after.value - self.before.value


def formula_figures(formula: Formula) -> dict[str, float]:
    """Give the figures of a formula by name: "unity.CaO", "wt_pct.CaO", "mol_pct.CaO", "si_al", "r2o", ...

    What cannot be computed (without flux, without alumina) is left out.
    """
    figures = {"loi_pct": formula.loi_pct}
    figures |= {f"wt_pct.{oxide}": pct for oxide, pct in formula.wt_pct.items()}
    figures |= {f"mol_pct.{oxide}": pct for oxide, pct in formula.mol_pct.items()}
    figures |= {f"unity.{oxide}": count for oxide, count in (formula.unity or {}).items()}
    for name, value in (
        ("si_al", formula.si_al),
        ("r2o", formula.r2o),
        ("knao", formula.knao),
        ("b2o3_share", formula.b2o3_share),
    ):
        if value is not None:
            figures[name] = value
    return figures


def doubt_of(
    answer: Callable[[Formula], Mapping[str, float]],
    lines: Iterable[RecipeLine | tuple[str, float]],
    own: Mapping[str, Material] | None = None,
    doubts: Doubts = DOUBTS,
) -> dict[str, Doubtful]:
    """Give an answer's figures with their doubt.

    Parameters
    ----------
    answer : callable
        From a formula to figures by name, such as `formula_figures`. A figure that is not there for a moved
        recipe takes no doubt from that move.
    lines : iterable of RecipeLine or (material, amount)
    own : mapping of str to Material, optional
    doubts : Doubts

    Returns
    -------
    dict of str to Doubtful

    Raises
    ------
    UnknownMaterialError, RecipeAmountError, EmptyRecipeError
        As `formula_of`.
    """
    found = weigh(lines, own)
    values = dict(answer(formula_of_weighed(found)))
    squares = dict.fromkeys(values, 0.0)
    for up, down in _moves(found, doubts):
        above, below = answer(formula_of_weighed(up)), answer(formula_of_weighed(down))
        for name in values:
            if name in above and name in below:
                squares[name] += ((above[name] - below[name]) / 2.0) ** 2
    return {name: Doubtful(value, math.sqrt(squares[name])) for name, value in values.items()}


def _moves(
    found: tuple[WeighedMaterial, ...], doubts: Doubts
) -> Iterable[tuple[list[WeighedMaterial], list[WeighedMaterial]]]:
    """Yield the recipe with one weight or one oxide moved up, and the same moved down."""
    for place, (written, material, amount) in enumerate(found):
        if amount <= 0.0:
            continue
        step = doubts.weighing_pct / 100.0
        if step > 0.0:
            yield (
                _with(found, place, (written, material, amount * (1.0 + step))),
                _with(found, place, (written, material, amount * (1.0 - step))),
            )
    for material in {id(material): material for _, material, amount in found if amount > 0.0}.values():
        step = doubts.of_material(material) / 100.0
        if step <= 0.0:
            continue
        for oxide in material.oxides_wt_pct:
            yield (
                _with_oxide(found, material, oxide, 1.0 + step),
                _with_oxide(found, material, oxide, 1.0 - step),
            )


def _with(found: tuple[WeighedMaterial, ...], place: int, moved: WeighedMaterial) -> list[WeighedMaterial]:
    return [*found[:place], moved, *found[place + 1 :]]


def _with_oxide(
    found: tuple[WeighedMaterial, ...], material: Material, oxide: str, factor: float
) -> list[WeighedMaterial]:
    oxides = dict(material.oxides_wt_pct)
    oxides[oxide] *= factor
    moved = replace(material, oxides_wt_pct=oxides)
    return [(written, moved if each is material else each, amount) for written, each, amount in found]


def compare_unity(
    before: Iterable[RecipeLine | tuple[str, float]],
    after: Iterable[RecipeLine | tuple[str, float]],
    own: Mapping[str, Material] | None = None,
    doubts: Doubts = DOUBTS,
) -> tuple[UnityChange, ...]:
    """Compare two revisions oxide by oxide, and say which changes are more than doubt.

    Doubts of the two are taken as independent; revisions weighed from the same bags share the analysis'
    part, so a change that is not told here may still be real.

    Raises
    ------
    UnknownMaterialError, RecipeAmountError, EmptyRecipeError
        As `formula_of`.
    """
    was = doubt_of(lambda formula: formula.unity or {}, before, own, doubts)
    now = doubt_of(lambda formula: formula.unity or {}, after, own, doubts)
    none = Doubtful(0.0, 0.0)
    return tuple(
        UnityChange(oxide, one, other, one.differs_from(other))
        for oxide in dict.fromkeys((*was, *now))
        for one, other in [(was.get(oxide, none), now.get(oxide, none))]
    )
