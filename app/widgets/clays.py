"""Clays: ranges, absorption, shrinkage bars, expansion, and the size calculator both ways."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.clays import (
    STATES,
    bar_rows,
    handbook_rows,
    known_rows,
    size_words,
    table_cells,
    weighing_rows,
)
from app.widgets.allowed import allowed, may
from app.widgets.load_form import CONES
from app.widgets.markup import facts_table
from app.widgets.pieces import failure
from app.words.choices import chosen
from catalog.errors import CatalogError
from catalog.records import BODY_KINDS, Body
from catalog.shown_units import mm_of_shown, shown_mm

if TYPE_CHECKING:
    from catalog.body.measures import BodyKnowledge

__all__ = ["clays"]

BAR_COLUMNS = ("wet, mm", "bone dry, mm", "fired, mm")
WEIGHING_COLUMNS = ("dry, g", "soaked, g", "hung in water, g")


def clays() -> None:
    """Show the clays."""
    bodies = catalogue().bodies()
    if not bodies:
        st.write("No clay is kept yet.")
        if allowed("body"):
            _new_clay()
        return
    names = [body.name for body in bodies]
    kept = state.remembered("clay", names[0])
    with st.container(horizontal=True, vertical_alignment="bottom"):
        name = st.selectbox(
            "Clay",
            names,
            index=names.index(kept) if kept in names else 0,
            key=f"clay_of_{len(names)}",
            width=300,
        )
        if may("body"):
            with st.popover("Another clay"):
                _new_clay()
    state.remember("clay", name)
    body = next(body for body in bodies if body.name == name)
    known = catalogue().workshop.body_knowledge(body.id)
    left, right = st.columns(2, gap="large")
    with left:
        st.subheader("What is known of it")
        rows = known_rows(body, known)
        if rows:
            st.html(facts_table(rows))
        else:
            st.caption("Nothing is measured yet.")
        _sizes(known)
    with right:
        st.subheader("Measure it")
        if not allowed("body", body.id):
            return
        _bars(body)
        _weighings(body)
        _ranges(body, known)
        _expansion(body, known)


def _new_clay() -> None:
    with st.form("new_clay", border=False):
        name = st.text_input("Name")
        kind = st.selectbox("Kind", BODY_KINDS, format_func=lambda word: word.replace("_", " "))
        rated = st.selectbox("Matures at cone", CONES, index=None, placeholder="not known")
        if not st.form_submit_button("Keep this clay"):
            return
    try:
        made = catalogue().add_body(name, kind, rated_cone=rated)
    except CatalogError as error:
        failure(error)
        return
    state.remember("clay", made.name)
    st.rerun()


def _sizes(known: BodyKnowledge) -> None:
    st.subheader("Sizes")
    if known.shrinkage is None:
        st.caption(
            "Measure a bar first: two marks 100 mm (4 in) apart in wet clay, read again bone dry and fired."
        )
        return
    with st.container(horizontal=True):
        have = st.selectbox("I have or want it", STATES, index=2, width=160)
        unit = chosen().length
        size = st.number_input(
            f"Length, {unit}",
            shown_mm(1.0, unit),
            shown_mm(2000.0, unit),
            100.0 if unit == "mm" else 4.0,
            1.0 if unit == "mm" else 0.125,
            width=160,
            key=f"size_{unit}",
        )
    try:
        st.html(facts_table(size_words(mm_of_shown(size, unit), have, known.shrinkage)))
    except CatalogError as error:
        failure(error)
    st.caption("Pots shrink less evenly than bars: a rim and a foot move apart, so leave room.")


def _bars(body: Body) -> None:
    with st.expander("Shrinkage bars"):
        st.caption("Common practice, no source: marks 100 mm or 4 in apart in a wet bar, three bars or more.")
        rows = _table("bars", body, BAR_COLUMNS, bar_rows(catalogue(), body))
        cone = _cone("Fired to cone", f"bars_cone_{body.id}")
        _keep_button("Keep the bars", body, "shrinkage", {"bars": rows}, cone)
        st.dataframe(handbook_rows("shrinkage"), hide_index=True)


def _weighings(body: Body) -> None:
    with st.expander("Absorption"):
        st.caption(
            "Unglazed pieces of 50 g or more: weighed dry, after five hours' boiling and a day's soak, and "
            "hung in water where you can."
        )
        rows = _table("weighings", body, WEIGHING_COLUMNS, weighing_rows(catalogue(), body))
        cone = _cone("Fired to cone", f"weighings_cone_{body.id}")
        _keep_button("Keep the weighings", body, "absorption", {"weighings": rows}, cone)
        st.dataframe(handbook_rows("absorption"), hide_index=True)


def _ranges(body: Body, known: BodyKnowledge) -> None:
    with st.expander("Bisque and glaze range"):
        said: dict[str, str | None] = {}
        for what in ("bisque", "glaze"):
            with st.container(horizontal=True):
                for end, word in (("low", "from"), ("high", "to")):
                    name = f"{what}_{end}"
                    said[name] = _cone(
                        f"{what.capitalize()} {word} cone", f"{name}_{body.id}", known.ranges.get(name)
                    )
        _keep_button("Keep the range", body, "ranges", said, None)
        st.dataframe(handbook_rows("firing step"), hide_index=True)


def _expansion(body: Body, known: BodyKnowledge) -> None:
    with st.expander("Expansion"):
        st.caption("From a dilatometer or the maker's sheet, with the range of temperature it is for.")
        told = known.expansion
        value = st.number_input(
            "Millionths per °C",
            0.2,
            25.0,
            None if told is None else told.per_k * 1e6,
            0.1,
            "%.2f",
            placeholder="not known",
            key=f"expansion_{body.id}",
        )
        doubt = st.number_input(
            "Give or take", 0.0, 5.0, None, 0.1, placeholder="not said", key=f"pm_{body.id}"
        )
        spell = st.text_input(
            "For which temperatures", "" if told is None else told.temperature_range, placeholder="20-600 °C"
        )
        figures = {"per_k_1e6": value, "plus_minus_1e6": doubt, "temperature_range": spell}
        _keep_button("Keep the expansion", body, "expansion", figures, None, ready=value is not None)


def _table(
    what: str, body: Body, columns: tuple[str, ...], rows: list[list[float | None]]
) -> list[list[float | None]]:
    import pandas as pd

    frame = pd.DataFrame(rows, columns=list(columns), dtype=float)
    config = {name: st.column_config.NumberColumn(name, min_value=0.0) for name in columns}
    edited = st.data_editor(
        frame,
        num_rows="dynamic",
        hide_index=True,
        key=f"{what}_{body.id}",
        placeholder="–",
        column_config=config,
    )
    return table_cells(edited.to_dict("records"), columns)


def _cone(label: str, key: str, kept: str | None = None) -> str | None:
    index = CONES.index(kept) if kept in CONES else None
    return st.selectbox(label, CONES, index=index, placeholder="not said", key=key, width=170)


def _keep_button(
    words: str, body: Body, kind: str, figures: Mapping[str, Any], cone: str | None, *, ready: bool = True
) -> None:
    if not st.button(words, key=f"keep_{kind}_{body.id}", disabled=not ready):
        return
    try:
        catalogue().workshop.add_body_measure(body.id, kind, figures, cone=cone)
    except CatalogError as error:
        failure(error)
        return
    st.rerun()
