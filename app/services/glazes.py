"""Glaze recipes for the screen: lines from a table, revisions, the formula and its answers in words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from app.words.choices import degrees, marks, number
from app.words.glaze import gas_sentence, melt_sentence, oxide_words, oxides_in_words
from catalog.records import Recipe, RecipeLine
from catalog.store import Catalog

if TYPE_CHECKING:
    from catalog.glaze.expansion import Expansion
    from catalog.glaze.fit import Fit
    from catalog.glaze.fit_words import FitSummary
    from catalog.glaze.materials import Material
    from catalog.glaze.report import FormulaReport

__all__ = [
    "expansion_rows",
    "fit_rows",
    "fits_by_clay",
    "formula_rows",
    "lines_of",
    "melt_rows",
    "oxide_rows",
    "plain_sentences",
    "ratio_rows",
    "recipe_report",
    "revision_rows",
    "revisions",
    "save_recipe",
]


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


def recipe_report(
    lines: Sequence[RecipeLine], own: Mapping[str, Material] | None = None, *, coat_mm: float | None = None
) -> FormulaReport:
    """Work out a recipe's formula, expansion, melt and cautions. Raises the glaze errors of `catalog`."""
    from catalog.glaze.report import formula_report

    return formula_report(lines, own, coat_mm=coat_mm)


def plain_sentences(report: FormulaReport) -> list[str]:
    """Give what the recipe does in the fire, a sentence each: gas, then melt."""
    return [gas_sentence(report), melt_sentence(report.melt)]


def fits_by_clay(
    catalog: Catalog, expansions: Sequence[Expansion], own: Mapping[str, Material], recipe_id: int | None
) -> list[tuple[str, FitSummary, tuple[Fit, ...]]]:
    """Give the fit on each clay: (clay, the sentence, what each factor set says).

    What the studio's tiles of this very revision did comes first; then beside the studio's other glazes where
    their fate on the clay is known, else against a measured expansion of the clay. A clay of which none of
    this is known is left out. `recipe_id` is None for lines that are no kept revision.
    """
    from catalog.glaze.fit import fits_on_body
    from catalog.glaze.fit_words import fit_summary
    from catalog.glaze.known_fits import fits_beside_own, outcomes_on, seen_summary

    recipes = {recipe.id: recipe for recipe in catalog.recipes(latest_only=False)}
    answers = []
    for body in catalog.bodies():
        outcomes = outcomes_on(catalog.pieces(body_id=body.id), body.id)
        beside = fits_beside_own(expansions, outcomes, recipes, own, leave_out=recipe_id)
        measured = catalog.workshop.body_knowledge(body.id).expansion
        told = [(beside, f"{body.name}, beside your own tiles,")] if beside else []
        if measured is not None:
            told.append((fits_on_body(expansions, measured), body.name))
        seen = None if recipe_id is None else seen_summary(outcomes.get(recipe_id), body.name)
        if not told and seen is None:
            continue
        summaries = [(fit_summary(fits, clay), fits) for fits, clay in told]
        if seen is not None:
            answers.append((body.name, seen, summaries[0][1] if summaries else ()))
            continue
        best = next((each for each in summaries if each[0].verdict != "not computable"), summaries[0])
        answers.append((body.name, *best))
    return answers


def fit_rows(fits: Sequence[Fit]) -> list[tuple[str, str]]:
    """Give what each factor set says of the fit."""
    reasons = [fit.reason.removeprefix("not computable: ") for fit in fits]
    return [
        (fit.set_name, marks(oxides_in_words(f"{fit.verdict}: {reason}")))
        for fit, reason in zip(fits, reasons, strict=True)
    ]


def formula_rows(report: FormulaReport) -> list[tuple[str, str]]:
    """Give the unity formula as rows with its doubt, then the ratios."""
    rows = []
    for oxide, amount in (report.formula.unity or {}).items():
        doubt = report.doubts.get(f"unity.{oxide}")
        shown = "" if doubt is None or doubt.plus_minus < 0.005 else f" ± {number(doubt.plus_minus, 2)}"
        rows.append((oxide_words(oxide), f"{number(amount, 2)}{shown}"))
    return [*rows, *ratio_rows(report)]


def ratio_rows(report: FormulaReport) -> list[tuple[str, str]]:
    """Give the ratios and the loss as rows."""
    formula = report.formula
    rows = []
    if formula.si_al is not None:
        doubt = report.doubts["si_al"].plus_minus
        shown = f" ± {number(doubt, 1)}" if doubt >= 0.05 else ""
        rows.append(("SiO₂ : Al₂O₃", f"{number(formula.si_al, 1)}{shown}"))
    told = report.to_dict()
    if told["r2o_ro"] is not None:
        rows.append(("R₂O : RO", " : ".join(number(part, 2) for part in told["r2o_ro"])))
    if told["knao"] is not None and told["knao_apart"] is not None:
        apart = told["knao_apart"]
        rows.append(
            (
                "KNaO",
                f"{number(told['knao'], 2)} (Na₂O {number(apart['Na2O'], 2)}, K₂O {number(apart['K2O'], 2)})",
            ),
        )
    if formula.b2o3_share:
        rows.append(("B₂O₃ among glass formers", f"{formula.b2o3_share * 100:.0f} %"))
    rows.append(("Lost in the fire", f"{number(formula.loi_pct, 1)} %"))
    return rows


def oxide_rows(report: FormulaReport) -> list[dict[str, str]]:
    """Give every oxide with its moles, weight and mole per cent, for a table."""
    formula, doubts = report.formula, report.doubts
    rows = []
    for oxide, weight in formula.wt_pct.items():
        unity = (formula.unity or {}).get(oxide)
        rows.append(
            {
                "Oxide": oxide_words(oxide),
                "Unity": "" if unity is None else f"{number(unity, 3)}",
                "±": "" if unity is None else number(doubts[f"unity.{oxide}"].plus_minus, 3),
                "Weight %": f"{number(weight, 2)}",
                "Mole %": f"{number(formula.mol_pct[oxide], 2)}",
            }
        )
    return rows


def expansion_rows(report: FormulaReport) -> list[tuple[str, str]]:
    """Give the linear expansion by each published set, or why that set gives none."""
    rows = []
    for expansion in report.expansions:
        told = expansion.to_dict()
        value = told["linear_1e-6_per_K"]
        words = marks(oxides_in_words(expansion.note))
        if isinstance(value, float):
            words = f"{number(value, 2)} millionths per °C, {_in_degrees(expansion.temperature_range)}"
            words += f". {marks(oxides_in_words(expansion.note))}" if expansion.note else ""
        rows.append((expansion.set_name, words))
    return rows


def _in_degrees(words: str) -> str:
    """Give a table's range of temperatures, such as "about 0-100 C", in the reader's degrees."""
    return _RANGE_C.sub(lambda found: f"{degrees(float(found[1]))} to {degrees(float(found[2]))}", words)


_RANGE_C = re.compile(r"(\d+)-(\d+) C\b")


def melt_rows(report: FormulaReport) -> list[tuple[str, str]]:
    """Give viscosity by each model at chosen temperatures, surface tension and gas, as rows."""
    told = report.melt.to_dict()
    rows = []
    for method, answer in told["viscosity"].items():
        known = {t: v for t, v in answer["log10_pa_s"].items() if v is not None and t in _SHOWN_C}
        words = marks(oxides_in_words(answer["reason"])) or "; ".join(
            f"{degrees(float(t))} {number(value, 1)}" for t, value in known.items()
        )
        rows.append((f"Viscosity, {method}", words or "its range is not reached"))
    for name, tension in told["surface_tension"].items():
        words = marks(oxides_in_words(tension["note"]))
        if tension["mn_per_m"] is not None:
            words = f"{tension['mn_per_m']:.0f} mN/m at {degrees(tension['temperature_c'])}"
            words += f" ({marks(oxides_in_words(tension['note']))})" if tension["note"] else ""
        rows.append((f"Surface tension, {name}", words))
    for left in told["gas_left"]:
        volume = (
            ""
            if left["ml_per_cm2"] is None
            else f", {number(left['ml_per_cm2'], 2)} ml from each cm² of coat"
        )
        rows.append(
            (
                f"Gas above {degrees(float(left['above_c']))}",
                f"{number(left['g_per_100_g'], 2)} g in 100 g{volume}",
            )
        )
    return rows


_SHOWN_C = ("900", "1000", "1100", "1200", "1250", "1300")


def revision_rows(
    before: Recipe, after: Sequence[RecipeLine], own: Mapping[str, Material]
) -> list[dict[str, str]]:
    """Compare an earlier revision with these lines, oxide by oxide. Raises the glaze errors."""
    from catalog.glaze.uncertainty import compare_unity

    return [
        {
            "Oxide": oxide_words(change.oxide),
            f"Revision {before.revision}": f"{number(change.before.value, 3)}",
            "Now": f"{number(change.after.value, 3)}",
            "Moved": f"{change.moved:+.3f}",
            "More than weighing can do?": "yes" if change.told else "no",
        }
        for change in compare_unity(before.lines, after, own)
    ]
