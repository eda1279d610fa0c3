"""The studio's own materials: a supplier's sheet typed or dropped in, sums checked, revisions kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.mixing import material_rows, sheet_of
from app.widgets.allowed import allowed
from app.widgets.markup import note
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import Recipe, RecipeLine

if TYPE_CHECKING:
    from catalog.glaze.analysis_sheet import AnalysisSheet
    from catalog.glaze.materials import Material

__all__ = ["own_materials"]

USUAL_OXIDES = ("SiO2", "Al2O3", "Fe2O3", "TiO2", "CaO", "MgO", "K2O", "Na2O")
BASIS_WORDS = {"dry": "of the dry material, loss included", "fired": "of what is left after firing"}


def own_materials(recipe: Recipe, lines: Sequence[RecipeLine], own: Mapping[str, Material]) -> None:
    """Show the studio's own materials and the form for another sheet."""
    del recipe, lines
    told = state.remembered("material_told", "")
    if told:
        st.html(note(told))
        state.remember("material_told", "")
    rows = material_rows(catalogue())
    if rows:
        st.dataframe(rows, hide_index=True)
        st.caption("The newest revision counts in every recipe; earlier ones stay as they were.")
    else:
        st.write(
            "None is kept yet. Recipes count with ideal or typical materials until you give your supplier's "
            "figures."
        )
    if not allowed("material"):
        return
    names = [*own, "a new material"]
    chosen = st.selectbox("Sheet for", names, index=len(names) - 1, width=300)
    known = {each.own.name: each.sheet for each in catalogue().workshop.materials()}
    _form(known.get(chosen), chosen)
    _from_file()


def _form(kept: AnalysisSheet | None, chosen: str) -> None:
    import pandas as pd

    from catalog.glaze.materials import material_names

    oxides = {} if kept is None else kept.oxides_wt_pct
    names = list(dict.fromkeys((*oxides, *USUAL_OXIDES)))
    frame = pd.DataFrame(
        {"oxide": names, "wt_pct": ["" if name not in oxides else str(oxides[name]) for name in names]},
        dtype=object,
    )
    with st.form(f"sheet_{chosen}", border=True):
        name = st.text_input("Name in recipes", "" if kept is None else kept.name, disabled=kept is not None)
        left, right = st.columns(2, gap="large")
        with left:
            edited = st.data_editor(
                frame,
                num_rows="dynamic",
                hide_index=True,
                key=f"oxides_{chosen}",
                placeholder="–",
                column_config={
                    "oxide": st.column_config.TextColumn("Oxide"),
                    "wt_pct": st.column_config.TextColumn("Weight %, as printed"),
                },
            )
        with right:
            loi = st.number_input(
                "Loss on ignition, %", -20.0, 99.0, 0.0 if kept is None else kept.loi_pct, 0.1
            )
            basis = st.selectbox(
                "The per cents are",
                list(BASIS_WORDS),
                index=0 if kept is None else list(BASIS_WORDS).index(kept.basis),
                format_func=BASIS_WORDS.__getitem__,
            )
            moisture = st.number_input(
                "Moisture in the bag, %",
                0.0,
                99.0,
                None if kept is None else kept.moisture_pct,
                placeholder="not measured",
            )
            lot = st.text_input("Lot or bag", "" if kept is None else kept.lot)
            choices = ["", *material_names()]
            like = "" if kept is None else kept.gas_like
            gas_like = st.selectbox(
                "Gives off its gas like",
                choices,
                index=choices.index(like) if like in choices else 0,
                format_func=lambda word: word or "nothing, or not known",
                help="Temperatures of its gas are taken from there, the amount from the loss",
            )
        source = st.text_input(
            "Where the sheet comes from", "supplier's analysis" if kept is None else kept.source
        )
        pressed = st.form_submit_button(
            "Keep this sheet" if kept is None else "Keep as the next revision", type="primary"
        )
    if pressed:
        sheet = sheet_of(
            name if kept is None else kept.name,
            edited.to_dict("records"),
            loi,
            basis,
            moisture_pct=moisture,
            lot=lot,
            gas_like=gas_like,
            source=source,
        )
        _keep(sheet)


def _from_file() -> None:
    with st.expander("Or drop in a file"):
        st.caption("A table with the columns oxide and wt_pct; rows LOI, F and moisture are known by name.")
        given = st.file_uploader("Sheet", ["csv", "txt", "tsv"], key="sheet_file")
        name = st.text_input("Name in recipes", key="sheet_file_name")
        if given is None or not name.strip() or not st.button("Keep the file's sheet"):
            return
        from catalog.glaze.sheet_csv import read_sheet_bytes

        try:
            sheet = read_sheet_bytes(given.getvalue(), given.name, name.strip())
        except CatalogError as error:
            failure(error)
            return
        _keep(sheet)


def _keep(sheet: AnalysisSheet) -> None:
    try:
        made = catalogue().workshop.add_material(sheet)
    except CatalogError as error:
        failure(error)
        return
    state.remember("material_told", f"{made.own.name}, revision {made.own.revision}, is kept.")
    st.rerun()
