"""A material of one's own from a supplier's analysis sheet: weight per cent oxides and loss on ignition.

Sums are checked, other states of oxidation are counted as the oxide this package shows, and what stands as
a trace is counted as nothing and noted.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from catalog.delimited import read_number
from catalog.glaze.errors import AnalysisSheetError, UnknownMaterialError
from catalog.glaze.materials import Material, find_material
from catalog.glaze.oxides import OXIDES, molar_mass_g

__all__ = [
    "BASES",
    "AnalysisSheet",
    "OwnMaterial",
    "moisture_of",
    "newest_materials",
    "own_material",
    "revised",
]

BASES = ("dry", "fired")
"""What 100 per cent of the sheet is: the dry material with its loss, or what is left of it after firing."""

SUM_LOW_PCT, SUM_HIGH_PCT = 98.0, 101.0
"""Oxides and loss of a sound analysis add to this (our choice; laboratories print 98.5 to 100.5)."""

_SHOWN_AS: Mapping[str, tuple[str, float]] = {
    "FeO": ("Fe2O3", 0.5),
    "Fe3O4": ("Fe2O3", 1.5),
    "MnO2": ("MnO", 1.0),
    "Mn2O3": ("MnO", 2.0),
    "Mn3O4": ("MnO", 3.0),
    "Co3O4": ("CoO", 3.0),
    "Co2O3": ("CoO", 2.0),
    "Cu2O": ("CuO", 2.0),
}
"""Moles of the oxide shown that one mole of the oxide printed makes."""

_TRACES = frozenset(
    word.replace(".", "") for word in ("", "-", "–", "tr.", "trace", "traces", "n.d.", "n/d", "bdl")
)
_PART_OF_LOSS = frozenset({"CO2", "H2O", "C", "S", "LOI"})


@dataclass(frozen=True, slots=True)
class AnalysisSheet:
    """What a supplier's sheet says.

    Attributes
    ----------
    name : str
        The material, as it shall be written in recipes.
    oxides_wt_pct : mapping of str to float or str
        As printed: numbers, "0,12", "<0.05", "tr".
    loi_pct : float
        Loss on ignition, weight per cent of the dry material; negative for a gain.
    basis : str
        One of `BASES`.
    fluorine_pct : float
        Fluorine, weight per cent.
    moisture_pct : float or None
        Water in the bag, weight per cent of the damp material; None when not measured.
    lot : str
        Lot or bag, as printed.
    gas_like : str
        A material of the table whose gas leaves as this one's does ("" when none): temperatures from there,
        amount from this loss.
    source : str
        Where the sheet comes from.
    """

    name: str
    oxides_wt_pct: Mapping[str, float | str]
    loi_pct: float
    basis: str = "dry"
    fluorine_pct: float = 0.0
    moisture_pct: float | None = None
    lot: str = ""
    gas_like: str = ""
    source: str = "supplier's analysis"


@dataclass(frozen=True, slots=True)
class OwnMaterial:
    """One revision of a material of one's own. Never changed in place.

    Attributes
    ----------
    name : str
    revision : int
        1 for the first sheet.
    material : Material
        What `formula_of` takes.
    moisture_pct : float or None
    lot : str
    notes : tuple of str
        What was done to the figures of the sheet.
    """

    name: str
    revision: int
    material: Material
    moisture_pct: float | None
    lot: str
    notes: tuple[str, ...] = field(default=())


def own_material(sheet: AnalysisSheet, revision: int = 1) -> OwnMaterial:
    """Make a material of an analysis sheet.

    Raises
    ------
    AnalysisSheetError
        An unknown oxide (the nearest known one is named), a figure that is none or negative, a sum that
        cannot be right, a basis, moisture or gas model that does not exist.
    """
    name = sheet.name.strip()
    if not name:
        raise AnalysisSheetError("the material", "has no name; wanted: the name recipes shall use")
    if sheet.basis not in BASES:
        raise AnalysisSheetError(name, f"basis {sheet.basis!r}; wanted: {' or '.join(BASES)}")
    damp = sheet.moisture_pct
    if damp is not None and not 0.0 <= damp < 100.0:
        raise AnalysisSheetError(name, f"moisture {damp!r} %; wanted: 0 or more, below 100")
    if not math.isfinite(sheet.loi_pct) or not -20.0 <= sheet.loi_pct < 100.0:
        raise AnalysisSheetError(name, f"loss on ignition {sheet.loi_pct!r} %; wanted: -20 to 100")
    notes: list[str] = []
    printed = _printed(name, sheet.oxides_wt_pct, notes)
    _check_sum(name, sheet, printed)
    share = (100.0 - sheet.loi_pct) / 100.0 if sheet.basis == "fired" else 1.0
    oxides, gases = _shown(printed, share, notes)
    if not oxides:
        raise AnalysisSheetError(name, "holds no oxide above zero")
    like = _gas_like(name, sheet.gas_like)
    loi = sheet.loi_pct + math.fsum(gases.values())
    known = find_material(like) if like else None
    material = Material(
        name=name,
        kind="analysis",
        oxides_wt_pct={oxide: oxides[oxide] for oxide in OXIDES if oxide in oxides},
        gases_wt_pct=gases,
        loi_wt_pct=loi,
        fluorine_wt_pct=sheet.fluorine_pct * share,
        gas_low_c=known.gas_low_c if known else None,
        gas_high_c=known.gas_high_c if known else None,
        source=sheet.source,
        basis="analysis",
        note="; ".join(notes),
        gas_like=like,
    )
    return OwnMaterial(name, revision, material, damp, sheet.lot, tuple(notes))


def revised(earlier: OwnMaterial, sheet: AnalysisSheet) -> OwnMaterial:
    """Make the next revision of a material from a new sheet; the earlier one stays as it is.

    Raises
    ------
    AnalysisSheetError
        The sheet is of another material, and as `own_material`.
    """
    if sheet.name.strip() != earlier.name:
        raise AnalysisSheetError(sheet.name, f"is not {earlier.name}; wanted: a sheet of the same material")
    return own_material(replace(sheet, name=earlier.name), earlier.revision + 1)


def newest_materials(kept: Iterable[OwnMaterial]) -> dict[str, Material]:
    """Give the newest revision of each material by name, as `formula_of` takes them."""
    newest: dict[str, OwnMaterial] = {}
    for each in kept:
        if each.name not in newest or each.revision > newest[each.name].revision:
            newest[each.name] = each
    return {name: each.material for name, each in newest.items()}


def moisture_of(kept: Iterable[OwnMaterial]) -> dict[str, float]:
    """Give the moisture of the newest revision of each material where measured, for `batch_for`."""
    newest: dict[str, OwnMaterial] = {}
    for each in kept:
        if each.name not in newest or each.revision > newest[each.name].revision:
            newest[each.name] = each
    return {name: each.moisture_pct for name, each in newest.items() if each.moisture_pct is not None}


def _printed(name: str, cells: Mapping[str, float | str], notes: list[str]) -> dict[str, float]:
    known = {oxide.lower(): oxide for oxide in (*OXIDES, *_SHOWN_AS, "SO3")}
    found: dict[str, float] = {}
    for label, cell in cells.items():
        text = label.strip()
        if text.upper() in _PART_OF_LOSS:
            raise AnalysisSheetError(
                name, f"{text} is part of the loss on ignition; wanted: the loss as one figure"
            )
        oxide = known.get(text.lower())
        if oxide is None:
            near = difflib.get_close_matches(text.lower(), known, n=1, cutoff=0.5)
            hint = f"; nearest known: {known[near[0]]}" if near else ""
            raise AnalysisSheetError(name, f"{text!r} is not an oxide known here{hint}")
        if oxide in found:
            raise AnalysisSheetError(name, f"{oxide} stands twice")
        found[oxide] = _amount(name, oxide, cell, notes)
    return found


def _amount(name: str, oxide: str, cell: float | str, notes: list[str]) -> float:
    if isinstance(cell, str):
        text = cell.strip().rstrip("%").strip().lower()
        if text.replace(".", "") in _TRACES or text.startswith("<"):
            notes.append(f"{oxide} {cell.strip() or 'blank'}: counted as none")
            return 0.0
        try:
            value = read_number(text)
        except ValueError as error:
            raise AnalysisSheetError(name, f"{oxide} {cell!r}; wanted: a number") from error
    else:
        value = float(cell)
    if not math.isfinite(value) or value < 0.0:
        raise AnalysisSheetError(name, f"{oxide} {cell!r}; wanted: zero or more")
    return value


def _check_sum(name: str, sheet: AnalysisSheet, printed: Mapping[str, float]) -> None:
    fluorine = sheet.fluorine_pct
    if not math.isfinite(fluorine) or not 0.0 <= fluorine < 70.0:
        raise AnalysisSheetError(name, f"fluorine {fluorine!r} %; wanted: 0 to 70")
    for_fluorine = fluorine * (1.0 - molar_mass_g("O") / (2.0 * molar_mass_g("F")))
    alone = math.fsum(printed.values()) + for_fluorine
    total = alone if sheet.basis == "fired" else alone + sheet.loi_pct
    if SUM_LOW_PCT <= total <= SUM_HIGH_PCT:
        return
    found = f"oxides {alone:.2f}" + ("" if sheet.basis == "fired" else f" and loss {sheet.loi_pct:.2f}")
    hint = ""
    if sheet.basis == "dry" and SUM_LOW_PCT <= alone <= SUM_HIGH_PCT:
        hint = '; the oxides alone add to 100, so the sheet may be on the fired basis ("fired")'
    elif sheet.basis == "fired" and SUM_LOW_PCT <= alone + sheet.loi_pct <= SUM_HIGH_PCT:
        hint = '; with the loss it adds to 100, so the sheet may be on the dry basis ("dry")'
    raise AnalysisSheetError(
        name, f"{found} add to {total:.2f} %; wanted: {SUM_LOW_PCT:g} to {SUM_HIGH_PCT:g}{hint}"
    )


def _shown(
    printed: Mapping[str, float], share: float, notes: list[str]
) -> tuple[dict[str, float], dict[str, float]]:
    oxides: dict[str, float] = {}
    gases: dict[str, float] = {}
    oxygen = 0.0
    for oxide, pct in printed.items():
        weight = pct * share
        if weight == 0.0:
            continue
        if oxide == "SO3":
            gases["SO3"] = weight
            notes.append(f"SO3 {pct:g}: counted as gas beside the loss")
            continue
        shown, moles = _SHOWN_AS.get(oxide, (oxide, 1.0))
        counted = weight * moles * molar_mass_g(shown) / molar_mass_g(oxide)
        if shown != oxide:
            notes.append(f"{oxide} {pct:g} counted as {shown} {counted:.3g}")
        oxygen += weight - counted
        oxides[shown] = oxides.get(shown, 0.0) + counted
    if abs(oxygen) > 1e-12:
        gases["O2"] = oxygen
    return oxides, gases


def _gas_like(name: str, like: str) -> str:
    if not like:
        return ""
    try:
        return find_material(like).name
    except UnknownMaterialError as error:
        raise AnalysisSheetError(name, f"gas like {like!r}: no such material in the table") from error
