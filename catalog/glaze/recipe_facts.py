"""The facts a recipe answers by itself: every `recipe.` key that can be computed from its materials."""

from __future__ import annotations

from catalog.glaze.formula import Formula
from catalog.glaze.gas import gas_above_pct
from catalog.glaze.oxides import molar_mass_g

__all__ = ["recipe_facts"]

_CLAYS = (
    "kaolinite (china clay, ideal)",
    "ball clay (typical)",
    "bentonite (typical)",
    "montmorillonite (ideal, no exchange cations)",
    "red earthenware clay (typical)",
)
_BORATES = ("colemanite", "ulexite", "calcium-sodium borate ore, gerstley type (typical)")
_SULPHATES = ("gypsum", "barite (barium sulfate)", "epsom salt")
_FLUORIDES = ("fluorspar (calcium fluoride)", "cryolite")
_TITANIA = ("rutile (ideal titania)", "titanium dioxide")
_OPACIFIERS = ("tin oxide", "zircon (zirconium silicate)", "zirconia", *_TITANIA)
_COPPERS = ("copper carbonate, basic (malachite)", "copper(II) oxide")
_SOLUBLES = (
    "soda ash (sodium carbonate)",
    "pearl ash (potassium carbonate)",
    "borax (decahydrate)",
    "boric acid",
    "epsom salt",
)


def recipe_facts(formula: Formula, *, reduction: bool = False) -> dict[str, float]:
    """Give the facts that follow from a formula.

    Parameters
    ----------
    formula : Formula
    reduction : bool
        True for a reducing firing (counts for the gas of iron only).

    Returns
    -------
    dict of str to float
        Keys of the vocabulary of facts (`recipe.si_al`, `recipe.loi_pct`, ...). Oxide per cents are of the
        fired glaze, material per cents of the raw batch. Zero means computed and none; what cannot be
        computed (unity figures of a recipe without flux) is left out.
    """
    oxide = formula.wt_pct.get
    manganese_dioxide = molar_mass_g("MnO2") / molar_mass_g("MnO")
    facts = {
        "recipe.loi_pct": formula.loi_pct,
        "recipe.gas_above_850C_pct": gas_above_pct(formula, 850.0, reduction=reduction),
        "recipe.gas_above_1050C_pct": gas_above_pct(formula, 1050.0, reduction=reduction),
        "recipe.mn_pct": oxide("MnO", 0.0) * manganese_dioxide,
        "recipe.fe2o3_pct": oxide("Fe2O3", 0.0),
        "recipe.zro2_pct": oxide("ZrO2", 0.0),
        "recipe.sno2_pct": oxide("SnO2", 0.0),
        "recipe.cr2o3_pct": oxide("Cr2O3", 0.0),
        "recipe.cuo_pct": oxide("CuO", 0.0),
        "recipe.rutile_pct": formula.material_pct(*_TITANIA),
        "recipe.zno_raw_pct": formula.material_pct("zinc oxide"),
        "recipe.mgco3_pct": formula.material_pct("light magnesium carbonate (hydromagnesite)"),
        "recipe.raw_clay_pct": formula.material_pct(*_CLAYS),
        "recipe.raw_borate_pct": formula.material_pct(*_BORATES),
        "recipe.sulphate_pct": formula.material_pct(*_SULPHATES),
        "recipe.fluoride_pct": formula.material_pct(*_FLUORIDES),
        "recipe.sic_pct": formula.material_pct("silicon carbide"),
        "recipe.opacifier_pct": formula.material_pct(*_OPACIFIERS),
        "recipe.soluble_pct": formula.material_pct(*_SOLUBLES),
        "recipe.li2co3_pct": formula.material_pct("lithium carbonate"),
        "recipe.sno2_added_pct": formula.material_pct("tin oxide"),
        "recipe.cu_added_pct": formula.material_pct(*_COPPERS),
    }
    if formula.si_al is not None:
        facts["recipe.si_al"] = formula.si_al
    if formula.unity is not None and formula.knao is not None:
        unity = formula.unity.get
        facts["recipe.knao_umf"] = formula.knao
        for name in ("SiO2", "Al2O3", "B2O3", "Li2O", "MgO", "CaO", "ZnO"):
            facts[f"recipe.{name.lower()}_umf"] = unity(name, 0.0)
    return facts
