"""Buckets, swaps, blends and the studio's own materials, for the screen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from app.words.choices import figure, number, percent
from app.words.glaze import oxide_words, oxides_in_words
from catalog.records import Recipe, RecipeLine
from catalog.store import Catalog

if TYPE_CHECKING:
    from catalog.glaze.analysis_sheet import AnalysisSheet
    from catalog.glaze.batch import Batch
    from catalog.glaze.materials import Material
    from catalog.glaze.silica_alumina import PlanePoint
    from catalog.glaze.substitute import Substitution

__all__ = [
    "batch_rows",
    "blend_rows",
    "line_rows",
    "make_batch",
    "material_choices",
    "material_rows",
    "move_rows",
    "plane_of_tiles",
    "sheet_of",
    "swap",
    "swap_sentence",
]


def material_choices(own: Mapping[str, Material]) -> list[str]:
    """Give the names of materials to choose from, the studio's own first."""
    from catalog.glaze.materials import material_names

    return [*own, *(name for name in material_names() if name not in own)]


def line_rows(lines: Sequence[RecipeLine]) -> list[tuple[str, str]]:
    """Give recipe lines as rows of words."""
    return [
        (line.material, f"{number(line.amount, 2)}" + (" on top" if line.addition else "")) for line in lines
    ]


def make_batch(
    lines: Sequence[RecipeLine],
    dry_g: float,
    specific_gravity: float | None,
    solids_density_g_per_ml: float,
    moisture_pct: Mapping[str, float],
) -> Batch:
    """Scale a recipe to a bucket. Raises BatchError and the recipe errors."""
    from catalog.glaze.batch import batch_for

    return batch_for(
        lines,
        dry_g,
        specific_gravity=specific_gravity,
        solids_density_g_per_ml=solids_density_g_per_ml,
        moisture_pct=moisture_pct,
    )


def batch_rows(batch: Batch) -> list[dict[str, Any]]:
    """Give what to weigh, line by line."""
    return [
        {
            "Weigh": line.material + (" (on top)" if line.addition else ""),
            "Grams": round(line.grams, 1),
            "Running total": round(total, 1),
        }
        for line, total in zip(batch.lines, batch.running_total_g, strict=True)
    ]


def swap(
    lines: Sequence[RecipeLine], out: str, instead: Sequence[str], own: Mapping[str, Material]
) -> Substitution:
    """Replace a material, keeping the formula as near as it goes. Raises SubstitutionError and others."""
    from catalog.glaze.substitute import substitute

    return substitute(lines, out, instead, own)


def swap_sentence(found: Substitution, out: str) -> str:
    """Say what a swap does to the formula, in one sentence."""
    moved = found.moved
    before, after = number(found.loi_before_pct, 1), number(found.loi_after_pct, 1)
    loss = f"the loss in the fire goes from {before} to {after} %"
    if not moved:
        return f"Without {out} the unity formula stays as it is to two decimals; {loss}."
    first = moved[0]
    way = "gains" if first.change > 0.0 else "loses"
    words = f"Without {out} the formula {way} {number(abs(first.change), 2)} {oxide_words(first.oxide)}"
    if len(moved) > 1:
        words += f" and moves in {len(moved) - 1} more"
    return f"{words}; {loss}."


def move_rows(found: Substitution) -> list[dict[str, str]]:
    """Give the formula before and after a swap, oxide by oxide."""
    return [
        {
            "Oxide": oxide_words(move.oxide),
            "Before": f"{number(move.before, 3)}",
            "After": f"{number(move.after, 3)}",
            "Moved": f"{move.change:+.3f}",
        }
        for move in found.moves
    ]


def blend_rows(
    recipes: Sequence[Recipe], steps: int, own: Mapping[str, Material]
) -> tuple[list[dict[str, str]], list[tuple[str, tuple[RecipeLine, ...]]]]:
    """Blend two or three recipes: the points as table rows, and (name, lines) of each point.

    Raises BlendError and the recipe errors.
    """
    from catalog.glaze.blend import line_blend, triaxial_blend

    parents = [recipe.lines for recipe in recipes]
    if len(parents) == 2:
        points = line_blend(parents[0], parents[1], steps, own)
    else:
        points = triaxial_blend(parents, steps, own)
    rows, named = [], []
    for place, point in enumerate(points, start=1):
        shares = {recipe.name: percent(share) for recipe, share in zip(recipes, point.percents, strict=True)}
        rows.append({"Point": str(place), **shares})
        named.append((f"Point {place}: " + ", ".join(f"{k} {v}" for k, v in shares.items()), point.lines))
    return rows, named


def plane_of_tiles(
    catalog: Catalog, cone: str, own: Mapping[str, Material]
) -> tuple[tuple[PlanePoint, ...], tuple[str, ...]]:
    """Give the studio's own pieces of one cone on the plane of silica and alumina."""
    from catalog.glaze.silica_alumina import fired_recipes_of, plane_points

    recipes = {recipe.id: recipe for recipe in catalog.recipes(latest_only=False)}
    return plane_points(fired_recipes_of(catalog.pieces(), recipes, own), cone, own)


def sheet_of(
    name: str, rows: Sequence[Mapping[str, Any]], loi_pct: float, basis: str, **rest: Any
) -> AnalysisSheet:
    """Give a typed analysis as a sheet; rows without an oxide are left out."""
    from catalog.glaze.analysis_sheet import AnalysisSheet

    oxides: dict[str, float | str] = {}
    for row in rows:
        oxide = str(row.get("oxide") or "").strip()
        cell = row.get("wt_pct")
        if oxide and cell is not None and cell == cell and cell != "":
            oxides[oxide] = cell if isinstance(cell, str) else float(cell)
    return AnalysisSheet(name=name, oxides_wt_pct=oxides, loi_pct=loi_pct, basis=basis, **rest)


def material_rows(catalog: Catalog) -> list[dict[str, str]]:
    """Give the studio's own materials, newest revision first, for a table."""
    rows = []
    for kept in catalog.workshop.materials(latest_only=False):
        own = kept.own
        rows.append(
            {
                "Material": own.name,
                "Revision": str(own.revision),
                "Lot": own.lot or "not said",
                "Moisture": "not measured" if own.moisture_pct is None else f"{figure(own.moisture_pct)} %",
                "Loss": f"{figure(kept.sheet.loi_pct)} %",
                "Oxides": ", ".join(
                    f"{oxide_words(oxide)} {pct:.4g}" for oxide, pct in own.material.oxides_wt_pct.items()
                ),
                "Done to the figures": oxides_in_words("; ".join(own.notes)) or "nothing",
            }
        )
    return rows
