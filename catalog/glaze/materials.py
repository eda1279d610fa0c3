"""Raw materials: what each leaves after firing and what it gives off, with source and basis.

The table is `data/materials.csv`. Rows with a chemical formula are computed from it, so that they close
exactly; typical analyses are taken as printed. Names are generic; `data/material_names.csv` holds the
names a person may write for each.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from catalog.glaze.errors import UnknownMaterialError
from catalog.glaze.oxides import OXIDES, molar_mass_g
from catalog.package_data import read_rows

__all__ = ["GASES", "Material", "find_material", "material_names", "materials", "oxides_from_formula"]

GASES: tuple[str, ...] = ("H2O", "CO2", "SO3", "O2")
"""What counts as loss on ignition; negative O2 is a gain. Fluorine is kept apart, its loss is not fixed."""

_OXIDE_OF: Mapping[str, tuple[str, float]] = {
    "Si": ("SiO2", 1.0),
    "Al": ("Al2O3", 0.5),
    "B": ("B2O3", 0.5),
    "Li": ("Li2O", 0.5),
    "Na": ("Na2O", 0.5),
    "K": ("K2O", 0.5),
    "Mg": ("MgO", 1.0),
    "Ca": ("CaO", 1.0),
    "Sr": ("SrO", 1.0),
    "Ba": ("BaO", 1.0),
    "Zn": ("ZnO", 1.0),
    "Pb": ("PbO", 1.0),
    "Fe": ("Fe2O3", 0.5),
    "Ti": ("TiO2", 1.0),
    "Zr": ("ZrO2", 1.0),
    "Sn": ("SnO2", 1.0),
    "Mn": ("MnO", 1.0),
    "Co": ("CoO", 1.0),
    "Cu": ("CuO", 1.0),
    "Cr": ("Cr2O3", 0.5),
    "Ni": ("NiO", 1.0),
    "P": ("P2O5", 0.5),
    "C": ("CO2", 1.0),
    "H": ("H2O", 0.5),
    "S": ("SO3", 1.0),
}
_OXYGENS: Mapping[str, float] = {
    "SiO2": 2, "Al2O3": 3, "B2O3": 3, "Li2O": 1, "Na2O": 1, "K2O": 1, "MgO": 1, "CaO": 1, "SrO": 1, "BaO": 1,
    "ZnO": 1, "PbO": 1, "Fe2O3": 3, "TiO2": 2, "ZrO2": 2, "SnO2": 2, "MnO": 1, "CoO": 1, "CuO": 1, "Cr2O3": 3,
    "NiO": 1, "P2O5": 5, "CO2": 2, "H2O": 1, "SO3": 3,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Material:
    """One raw material.

    Attributes
    ----------
    name : str
        Generic name, as the table has it.
    kind : str
        "theoretical" (computed from its formula), "typical" (an analysis of the kind), "illustrative", or
        "analysis" (one's own, from a supplier's sheet).
    oxides_wt_pct : mapping of str to float
        Weight per cent of the raw material left as each oxide.
    gases_wt_pct : mapping of str to float
        Weight per cent given off as each of `GASES`; negative oxygen is taken up.
    loi_wt_pct : float
        Loss on ignition, weight per cent.
    fluorine_wt_pct : float
        Fluorine; how much of it leaves is not fixed, so it is in neither of the above. Where a fluoride is
        counted as oxide, the oxygen taken up for it is negative O2 in no column.
    gas_low_c, gas_high_c : float or None
        Temperature range in which the gases leave.
    source, basis, note : str
        Where the composition comes from.
    gas_like : str
        A material of the table whose gas leaves as this one's does; "" when it has its own.
    """

    name: str
    kind: str
    oxides_wt_pct: Mapping[str, float]
    gases_wt_pct: Mapping[str, float]
    loi_wt_pct: float
    fluorine_wt_pct: float
    gas_low_c: float | None
    gas_high_c: float | None
    source: str
    basis: str
    note: str
    gas_like: str = ""


def oxides_from_formula(formula: str) -> tuple[dict[str, float], dict[str, float], float]:
    """Split a compound into oxides, gases and fluorine.

    Parameters
    ----------
    formula : str
        Parts joined by ".", such as "Al2O3.2SiO2.2H2O".

    Returns
    -------
    oxides, gases : dict of str to float
        Weight per cent of the raw compound; what oxygen is left over (or missing) is gas "O2". For fluorides
        the oxygen that replaces fluorine is not counted.
    fluorine : float
        Weight per cent F.
    """
    import periodictable

    total = 0.0
    atoms: dict[str, float] = {}
    for part in formula.split("."):  # count and compound apart: "3Co(OH)2" is misread as a whole
        count_text, bare = re.match(r"(\d*)(.+)", part).groups()  # type: ignore[union-attr]
        count = float(count_text or 1)
        compound = periodictable.formula(bare)
        total += count * float(compound.mass)
        for element, atoms_each in compound.atoms.items():
            atoms[str(element)] = atoms.get(str(element), 0.0) + count * float(atoms_each)
    moles: dict[str, float] = {}
    oxygen = atoms.pop("O", 0.0)
    fluorine = atoms.pop("F", 0.0)
    for element, atom_count in atoms.items():
        oxide, share = _OXIDE_OF[element]
        moles[oxide] = atom_count * share
        oxygen -= atom_count * share * _OXYGENS[oxide]
    moles["O2"] = (oxygen + fluorine / 2.0) / 2.0
    weights = {
        name: 100.0 * amount * molar_mass_g(name) / total
        for name, amount in moles.items()
        if abs(amount) > 1e-9
    }
    oxides = {name: weights[name] for name in OXIDES if name in weights}
    gases = {name: weights[name] for name in GASES if name in weights}
    return oxides, gases, 100.0 * fluorine * molar_mass_g("F") / total


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


def _material(row: Mapping[str, str]) -> Material:
    if row["kind"] == "theoretical":
        oxides, gases, fluorine = oxides_from_formula(row["formula"].split(" + ")[0])
        loi = sum(gases.values())
    else:
        oxides = {name: float(row[f"{name}_wt_pct"]) for name in OXIDES if row.get(f"{name}_wt_pct")}
        gases = {name: float(row[f"gas_{name}_wt_pct"]) for name in GASES if row[f"gas_{name}_wt_pct"]}
        fluorine = _number(row["gas_F_wt_pct"]) or 0.0
        loi = _number(row["loi_wt_pct"]) or 0.0
    return Material(
        name=row["material"],
        kind=row["kind"],
        oxides_wt_pct=oxides,
        gases_wt_pct=gases,
        loi_wt_pct=loi,
        fluorine_wt_pct=fluorine,
        gas_low_c=_number(row["decomposition_low_C"]),
        gas_high_c=_number(row["decomposition_high_C"]),
        source=row["composition_source"],
        basis=row["basis"],
        note=row["note"],
    )


@cache
def materials() -> Mapping[str, Material]:
    """Give all materials by the table's name, in its order (cached)."""
    return {row["material"]: _material(row) for row in read_rows("catalog.glaze", "materials.csv")}


def _folded(name: str) -> str:
    return re.sub(r"[^a-z0-9%]+", " ", name.lower()).strip()


@cache
def _by_name() -> Mapping[str, str]:
    found = {_folded(name): name for name in materials()}
    for row in read_rows("catalog.glaze", "material_names.csv"):
        found[_folded(row["name"])] = row["material"]
    return found


def material_names() -> tuple[str, ...]:
    """Give the plain names a person may write, sorted (for lists and completion)."""
    return tuple(sorted(row["name"] for row in read_rows("catalog.glaze", "material_names.csv")))


def find_material(name: str, own: Mapping[str, Material] | None = None) -> Material:
    """Give the material a name stands for; case, punctuation and spacing do not matter.

    Parameters
    ----------
    name : str
        Such as "whiting", "Calcium carbonate", "chalk", "china clay".
    own : mapping of str to Material, optional
        The person's own materials by name; they come first.

    Raises
    ------
    UnknownMaterialError
        The name stands for none; the error names the nearest.
    """
    folded = _folded(name)
    if own:
        for own_name, material in own.items():
            if _folded(own_name) == folded:
                return material
    known = _by_name()
    if folded in known:
        return materials()[known[folded]]
    close = difflib.get_close_matches(folded, known, n=3, cutoff=0.6)
    nearest = tuple(dict.fromkeys(close))
    raise UnknownMaterialError(name, nearest)
