"""Firings: loads with their witness cones by shelf, the planned schedule and what it amounts to."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.firings import heat_work, schedule_of
from app.widgets.load_form import AIR_WORDS, CONES, cones_editor, load_line, new_load
from app.widgets.markup import advice_note, note
from app.widgets.pieces import failure
from app.words import error_advice
from catalog.errors import CatalogError
from catalog.records import ATMOSPHERES, Load


def choose(loads: tuple[Load, ...]) -> Load:
    """Show the loads; gives the one chosen."""
    ids = [load.id for load in loads]
    names = {load.id: load.name for load in loads}
    kept = state.remembered("load", ids[0])
    chosen = st.selectbox(
        "Load", ids, index=ids.index(kept) if kept in ids else 0, format_func=names.__getitem__, width=380
    )
    state.remember("load", chosen)
    return next(load for load in loads if load.id == chosen)


def plan(load: Load) -> None:
    """Show the planned schedule to edit, and the cone it amounts to."""
    import pandas as pd

    st.subheader("Schedule as planned")
    frame = pd.DataFrame(
        [(s.rate_c_per_h, s.target_c, s.hold_min) for s in load.schedule],
        columns=["rate_c_per_h", "target_c", "hold_min"],
        dtype=float,
    )
    column = st.column_config
    edited = st.data_editor(
        frame,
        num_rows="dynamic",
        hide_index=True,
        key=f"schedule_{load.id}",
        column_config={
            "rate_c_per_h": column.NumberColumn("°C per hour", required=True),
            "target_c": column.NumberColumn("to °C", required=True),
            "hold_min": column.NumberColumn("hold, minutes", default=0.0),
        },
    )
    if st.button("Keep the schedule"):
        try:
            catalogue().update_load(load.id, schedule=schedule_of(edited.to_dict("records")))
        except CatalogError as error:
            failure(error)
            return
        st.rerun()
    if not load.schedule:
        return
    try:
        verdict = heat_work(load)
    except CatalogError as error:
        st.html(advice_note(error_advice(error)))
        return
    st.html(note(verdict.sentence()))
    for words in verdict.notes:
        st.caption(words)


def facts(load: Load) -> None:
    """Show what was said of the load, to correct."""
    with st.expander("Correct this load"), st.form(f"load_{load.id}", border=False):
        name = st.text_input("Name", load.name)
        kiln = st.text_input("Kiln", load.kiln)
        fired_on = st.date_input("Fired on", load.fired_on, format="DD/MM/YYYY")
        aimed = _kept("Cone aimed at", CONES, load.cone_aimed)
        air = st.selectbox(
            "Atmosphere",
            ATMOSPHERES,
            index=None if load.atmosphere is None else ATMOSPHERES.index(load.atmosphere),
            placeholder="not known",
            format_func=AIR_WORDS.__getitem__,
        )
        notes = st.text_area("Notes", load.notes, height=80)
        if not st.form_submit_button("Keep changes", type="primary"):
            return
    try:
        catalogue().update_load(
            load.id, name=name, kiln=kiln, fired_on=fired_on, cone_aimed=aimed, atmosphere=air, notes=notes
        )
    except CatalogError as error:
        failure(error)
        return
    st.rerun()


def _kept(label: str, options: tuple[str, ...], kept: str | None) -> str | None:
    names = options if kept is None or kept in options else (kept, *options)
    return st.selectbox(
        label, names, index=None if kept is None else names.index(kept), placeholder="not known"
    )


def show() -> None:
    """Show the loads."""
    st.title("Firings")
    catalog = catalogue()
    loads = catalog.loads()
    if loads:
        load = choose(loads)
        st.caption(load_line(load))
        pieces = catalog.count_pieces(load_id=load.id)
        st.caption("No piece is filed under it." if not pieces else f"{pieces} pieces filed under it.")
        left, right = st.columns(2, gap="large")
        with left:
            st.subheader("Witness cones reached")
            st.caption("What the cone beside the ware did. Causes follow from it at once.")
            if cones_editor(load, "firings"):
                st.rerun()
            if load.notes:
                st.html(note(load.notes))
            facts(load)
        with right:
            plan(load)
    else:
        st.write("No load is kept yet. Make the first one here, or with the photos under Unload.")
    with st.expander("Another load", expanded=not loads):
        made = new_load("firings")
        if made is not None:
            state.remember("load", made.id)
            st.rerun()


show()
