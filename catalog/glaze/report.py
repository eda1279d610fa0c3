"""The whole answer about a recipe, for the command line and the screens."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalog.glaze.caution import recipe_cautions
from catalog.glaze.expansion import Expansion, expansions_of
from catalog.glaze.formula import Formula, formula_of
from catalog.glaze.gas import gas_above_pct
from catalog.glaze.materials import Material
from catalog.glaze.melt import Melt, melt_of
from catalog.glaze.oxides import FLUXES
from catalog.glaze.recipe_csv import read_recipe_csv
from catalog.glaze.seal import coat_g_per_cm2
from catalog.glaze.uncertainty import Doubtful, doubt_of, formula_figures
from catalog.records import RecipeLine

__all__ = ["FormulaReport", "formula_report"]


@dataclass(frozen=True, slots=True)
class FormulaReport:
    """A recipe's formula with its doubt, its expansion by each published set, its melt, and its cautions.

    `doubts` holds the figures of `uncertainty.formula_figures` with plus or minus two standard deviations.
    """

    formula: Formula
    doubts: Mapping[str, Doubtful]
    expansions: tuple[Expansion, ...]
    melt: Melt
    gas_above_850_c_pct: float
    gas_above_1050_c_pct: float
    cautions: tuple[str, ...]
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Give the JSON form that ``glostbook formula --json`` prints; figures rounded to 4 decimals."""
        formula = self.formula
        unity = formula.unity
        return {
            "unity": None if unity is None else _rounded(unity),
            "unity_fluxes": list(FLUXES),
            "wt_pct": _rounded(formula.wt_pct),
            "mol_pct": _rounded(formula.mol_pct),
            "loi_pct": round(formula.loi_pct, 4),
            "sio2_al2o3": None if formula.si_al is None else round(formula.si_al, 4),
            "r2o_ro": None if formula.r2o is None else [round(formula.r2o, 4), round(1.0 - formula.r2o, 4)],
            "knao": None if formula.knao is None else round(formula.knao, 4),
            "knao_apart": None
            if unity is None
            else _rounded({o: unity.get(o, 0.0) for o in ("Na2O", "K2O")}),
            "b2o3_share": None if formula.b2o3_share is None else round(formula.b2o3_share, 4),
            "gas_above_850C_pct": round(self.gas_above_850_c_pct, 4),
            "gas_above_1050C_pct": round(self.gas_above_1050_c_pct, 4),
            "fluorine_pct": round(formula.fluorine_pct, 4),
            "expansion": {expansion.set_name: expansion.to_dict() for expansion in self.expansions},
            "plus_minus": {name: round(each.plus_minus, 4) for name, each in self.doubts.items()},
            "melt": self.melt.to_dict(),
            "cautions": list(self.cautions),
            "materials": [
                {
                    "written": share.written,
                    "material": share.material.name,
                    "batch_wt_pct": round(share.batch_wt_pct, 4),
                    "kind": share.material.kind,
                    "source": share.material.source,
                    "basis": share.material.basis,
                }
                for share in formula.shares
            ],
            "notes": list(self.notes),
        }


def _rounded(values: Mapping[str, float]) -> dict[str, float]:
    return {name: round(value, 4) for name, value in values.items()}


def formula_report(
    recipe: Path | Iterable[RecipeLine | tuple[str, float]],
    own: Mapping[str, Material] | None = None,
    *,
    coat_mm: float | None = None,
) -> FormulaReport:
    """Give the whole answer about a recipe.

    Parameters
    ----------
    recipe : Path or iterable of RecipeLine or (material, amount)
        A CSV file (`recipe_csv.read_recipe_csv`) or the lines themselves.
    own : mapping of str to Material, optional
        The person's own materials.
    coat_mm : float or None
        Thickness of the dry coat, for the volume of gas.

    Raises
    ------
    BatchError
        The coat is not above zero.
    RecipeFileError, UnknownMaterialError, RecipeAmountError, EmptyRecipeError
        As `read_recipe_csv` and `formula_of`.
    """
    lines = read_recipe_csv(recipe) if isinstance(recipe, Path) else tuple(recipe)
    formula = formula_of(lines, own)
    return FormulaReport(
        formula=formula,
        doubts=doubt_of(formula_figures, lines, own),
        melt=melt_of(formula, coat_g_per_cm2=None if coat_mm is None else coat_g_per_cm2(coat_mm)),
        expansions=expansions_of(formula.wt_pct),
        gas_above_850_c_pct=gas_above_pct(formula, 850.0),
        gas_above_1050_c_pct=gas_above_pct(formula, 1050.0),
        cautions=recipe_cautions(formula),
        notes=_notes(formula),
    )


def _notes(formula: Formula) -> tuple[str, ...]:
    notes = []
    if formula.unity is None:
        notes.append("No flux in the recipe: there is no unity formula.")
    typical = [s.written for s in formula.shares if s.material.kind == "typical"]
    if typical:
        notes.append(f"Typical analyses, not those of your bag: {', '.join(typical)}.")
    made_up = [s.written for s in formula.shares if s.material.kind == "illustrative"]
    if made_up:
        notes.append(
            f"A made-up composition stands in for: {', '.join(made_up)}. Use your supplier's analysis."
        )
    if formula.fluorine_pct > 0.0:
        notes.append("Fluorine is left out of the formula; how much of it leaves in the fire is not fixed.")
    if abs(formula.unaccounted_pct) > 0.5:
        notes.append(f"Analyses leave {formula.unaccounted_pct:.1f} % of the batch unaccounted for.")
    return tuple(notes)
