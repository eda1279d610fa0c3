"""What must be said of a recipe's materials, in handling, in the kiln and in use.

Texts and triggers are in `data/recipe_cautions.csv` with their basis. Triggers are cautious, they are not
limits; no text clears a glaze for any use. Cadmium, vanadium and antimony stand in no material of the table;
they come from one's own analyses. A stain that holds cadmium without an analysis is declared by the person
(`recipe.stain_family`), and the diagnosis carries its hold notice.
"""

from __future__ import annotations

from collections.abc import Mapping

from catalog.glaze.formula import Formula
from catalog.package_data import read_rows

__all__ = ["recipe_cautions"]


def _applies(row: Mapping[str, str], formula: Formula) -> bool:
    above = float(row["above_wt_pct"])
    if row["trigger"] == "oxide":
        return formula.wt_pct.get(row["key"], 0.0) > above
    if row["trigger"] == "fluorine":
        return formula.fluorine_pct > above
    if row["trigger"] == "material":
        return formula.material_pct(row["key"]) > above
    return True


def recipe_cautions(formula: Formula) -> tuple[str, ...]:
    """Give the cautions a recipe calls for: holds first, then each substance, dust and release last.

    Returns
    -------
    tuple of str
        Never empty, no text twice.
    """
    rows = [row for row in read_rows("catalog.glaze", "recipe_cautions.csv") if _applies(row, formula)]
    rows.sort(key=lambda row: not row["text"].startswith("Hold:"))
    return tuple(dict.fromkeys(row["text"] for row in rows))
