"""One load: what it came to in a sentence, its plot, then cones, plan and log to keep and correct."""

from __future__ import annotations

from html import escape

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.firings import course_of, figure_rows, log_of, verdicts
from app.services.studio import load_title
from app.widgets.allowed import may
from app.widgets.firing_plot import draw_firing
from app.widgets.load_form import AIR_WORDS, CONES, cones_editor, load_line, new_load
from app.widgets.load_log import load_log
from app.widgets.load_places import load_places
from app.widgets.load_plan import load_plan
from app.widgets.markup import facts_table, note, plain
from app.widgets.pieces import failure
from app.widgets.witness_cones import witness_cones
from app.words.choices import date_pattern, degrees, span
from catalog.errors import CatalogError
from catalog.firing.log_csv import LogImport
from catalog.records import ATMOSPHERES, LOAD_KINDS, Load

__all__ = ["load_page"]

LEVELS_C = (700, 800, 900, 1000, 1050, 1100, 1150, 1180, 1200, 1220, 1250, 1280)


def load_page() -> None:
    """Show one load."""
    load = _choose(catalogue().loads())
    st.caption(plain(load_line(load)))
    pieces = catalogue().count_pieces(load_id=load.id)
    st.caption("No piece is filed under it." if not pieces else f"{pieces} pieces filed under it.")
    log = _log(load)
    _verdict(load, log)
    _course(load, log)
    left, right = st.columns(2, gap="large")
    with left:
        st.subheader("Witness cones reached")
        st.caption("What the cone beside the ware did. Causes follow from it at once.")
        if cones_editor(load, "firings"):
            st.rerun()
        witness_cones(load)
        if load.notes:
            st.html(note(load.notes))
        if may("load", load.id):
            _facts(load)
    with right:
        load_plan(load)
        load_log(load)
    load_places(load)
    if not may("load"):
        return
    with st.expander("Another load"):
        made = new_load("firings")
        if made is not None:
            state.remember("load", made.id)
            st.rerun()


def _choose(loads: tuple[Load, ...]) -> Load:
    ids = [load.id for load in loads]
    names = {load.id: load_title(load) for load in loads}
    kept = state.remembered("load", ids[0])
    chosen = st.selectbox(
        "Load",
        ids,
        index=ids.index(kept) if kept in ids else 0,
        format_func=names.__getitem__,
        key=f"load_of_{len(ids)}",
        width=420,
    )
    state.remember("load", chosen)
    return next(load for load in loads if load.id == chosen)


def _log(load: Load) -> LogImport | None:
    try:
        return log_of(catalogue(), load)
    except CatalogError as error:
        failure(error)
        return None


def _verdict(load: Load, log: LogImport | None) -> None:
    try:
        said, notes = verdicts(load, log)
    except CatalogError as error:
        failure(error)
        return
    if not said:
        st.write("Nothing tells yet what this load came to: read a cone, give its plan, or drop in its log.")
    if said:
        st.html("".join(f'<p class="gb-say">{escape(words)}</p>' for words in said))
    for words in notes:
        st.caption(plain(words))


def _course(load: Load, log: LogImport | None) -> None:
    try:
        path = course_of(load, log)
    except CatalogError as error:
        failure(error)
        return
    if path is None:
        return
    draw_firing(load, log)
    with st.expander("Figures of the log" if log is not None else "Figures of the plan"):
        chosen = st.multiselect(
            "Time above",
            LEVELS_C,
            format_func=degrees,
            default=[level for level in state.remembered("levels_c", []) if level in LEVELS_C],
            placeholder=f"{span(100)}, {span(50)} and {span(25)} below the peak",
            key="levels",
        )
        state.remember("levels_c", chosen)
        st.html(facts_table(figure_rows(path, [float(level) for level in chosen])))


def _facts(load: Load) -> None:
    with st.expander("Correct this load"), st.form(f"load_{load.id}", border=False):
        name = st.text_input("Name", load.name)
        one, two = st.columns(2)
        kiln = one.text_input("Kiln", load.kiln)
        kind = two.selectbox("Kind", LOAD_KINDS, index=LOAD_KINDS.index(load.kind))
        fired_on = one.date_input("Fired on", load.fired_on, format=date_pattern())
        aimed = _kept("Cone aimed at", CONES, load.cone_aimed)
        air = two.selectbox(
            "Atmosphere",
            ATMOSPHERES,
            index=None if load.atmosphere is None else ATMOSPHERES.index(load.atmosphere),
            placeholder="not known",
            format_func=AIR_WORDS.__getitem__,
        )
        bisques = {each.id: load_title(each) for each in catalogue().loads("bisque") if each.id != load.id}
        before = catalogue().workshop.bisque_of(load.id)
        options = list(bisques)
        bisque = st.selectbox(
            "Ware was bisqued in",
            options,
            index=options.index(before.id) if before is not None and before.id in options else None,
            placeholder="not said" if options else "no bisque load is kept",
            format_func=bisques.__getitem__,
        )
        notes = st.text_area("Notes", load.notes, height=80)
        if not st.form_submit_button("Keep changes", type="primary"):
            return
    try:
        catalogue().update_load(
            load.id,
            name=name,
            kiln=kiln,
            kind=kind,
            fired_on=fired_on,
            cone_aimed=aimed,
            atmosphere=air,
            notes=notes,
        )
        catalogue().workshop.set_bisque(load.id, bisque)
    except CatalogError as error:
        failure(error)
        return
    st.rerun()


def _kept(label: str, options: tuple[str, ...], kept: str | None) -> str | None:
    names = options if kept is None or kept in options else (kept, *options)
    return st.selectbox(
        label, names, index=None if kept is None else names.index(kept), placeholder="not known"
    )
