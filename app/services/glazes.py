"""Glaze recipes for the screen: lines from a table, revisions, the formula as rows of words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from catalog.records import Recipe, RecipeLine
from catalog.store import Catalog

if TYPE_CHECKING:
    from catalog.glaze.report import FormulaReport

__all__ = ["expansion_rows", "formula_rows", "lines_of", "recipe_report", "revisions", "save_recipe"]


_SUBSCRIPTS = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")


def lines_of(rows: Sequence[Mapping[str, Any]]) -> list[RecipeLine]:
    """Give a table's rows as recipe lines; a row without a material is left out."""
    lines = []
    for row in rows:
        material = str(row.get("material") or "").strip()
        amount = row.get("amount")
        if not material or amount is None or amount != amount:
            continue
        lines.append(RecipeLine(material, float(amount), bool(row.get("addition"))))
    return lines


def save_recipe(
    catalog: Catalog,
    recipe: Recipe,
    lines: Sequence[RecipeLine],
    cone_low: str | None,
    cone_high: str | None,
    intended: Sequence[str],
    notes: str,
) -> Recipe:
    """Keep a changed recipe as the glaze's next revision; the same one comes back where nothing differs."""
    return catalog.add_recipe(
        recipe.name,
        list(lines),
        cone_low=cone_low,
        cone_high=cone_high,
        intended=tuple(intended),
        facts=recipe.facts,
        notes=notes,
    )


def revisions(catalog: Catalog, name: str) -> list[Recipe]:
    """Give all revisions of a glaze, the newest first."""
    return [recipe for recipe in catalog.recipes(latest_only=False) if recipe.name == name]


def recipe_report(recipe: Recipe) -> FormulaReport:
    """Work out a recipe's formula, expansion and cautions. Raises the glaze errors of `catalog`."""
    from catalog.glaze.report import formula_report

    return formula_report(recipe.lines)


def formula_rows(report: FormulaReport) -> list[tuple[str, str]]:
    """Give the formula as rows: fluxes, then alumina and boron, then glass, then the ratios."""
    formula = report.formula
    rows = []
    for oxide, amount in (formula.unity or {}).items():
        rows.append((oxide.translate(_SUBSCRIPTS), f"{amount:.2f}"))
    if formula.si_al is not None:
        rows.append(("SiO₂ : Al₂O₃", f"{formula.si_al:.1f}"))
    rows.append(("Lost in the fire", f"{formula.loi_pct:.1f} %"))
    return rows


def expansion_rows(report: FormulaReport) -> list[tuple[str, str]]:
    """Give the linear expansion by each published set, or why that set gives none."""
    rows = []
    for expansion in report.expansions:
        told = expansion.to_dict()
        value = told["linear_1e-6_per_K"]
        words = expansion.note
        if value is not None:
            words = f"{value:.2f} millionths per °C, {expansion.temperature_range}"
            words += f". {expansion.note}" if expansion.note else ""
        rows.append((expansion.set_name, words))
    return rows
