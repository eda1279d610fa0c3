"""A piece in the hand that nobody has photographed: five choices, and its causes are asked for."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.causes import new_piece
from app.widgets.allowed import allowed
from app.widgets.load_form import SHELVES
from app.widgets.pieces import failure
from app.words.measures import fault_noun
from catalog.causes.knowledge import fault_names
from catalog.errors import CatalogError

__all__ = ["piece_without_photo"]

_KINDS = {"ware": "pot, mug, bowl", "tile": "tile"}


def piece_without_photo() -> None:
    """Ask for the fault and what is known of the piece; whatever is left out stays unknown."""
    if not allowed("piece"):
        return
    catalog = catalogue()
    bodies = {body.id: body.name for body in catalog.bodies()}
    loads = {load.id: load.name for load in catalog.loads("glaze")}
    glazes = [recipe.name for recipe in catalog.recipes()]
    with st.form("piece_without_photo", clear_on_submit=True, border=False):
        with st.container(horizontal=True):
            fault = st.selectbox(
                "What is wrong?",
                fault_names(),
                index=None,
                format_func=fault_noun,
                width=230,
                placeholder="name it",
            )
            kind = st.selectbox("What is it?", list(_KINDS), format_func=_KINDS.__getitem__, width=160)
            glaze = st.selectbox(
                "Glaze", glazes, index=None, accept_new_options=True, placeholder="not said", width=200
            )
            body = st.selectbox(
                "Clay",
                list(bodies),
                index=None,
                format_func=bodies.__getitem__,
                placeholder="not said",
                width=200,
            )
            load = st.selectbox(
                "Glaze firing",
                list(loads),
                index=None,
                format_func=loads.__getitem__,
                placeholder="not said",
                width=260,
            )
            shelf = st.selectbox("Shelf", SHELVES, index=None, placeholder="not said", width=140)
            coats = st.number_input("Coats", min_value=1, max_value=9, value=None, placeholder="?", width=110)
        asked = st.form_submit_button("Ask why", type="primary")
    if not asked:
        return
    if fault is None:
        st.caption("Name what is wrong first.")
        return
    try:
        code = new_piece(
            catalog, fault, kind=kind, glaze=glaze, body_id=body, load_id=load, shelf=shelf, coats=coats
        )
    except CatalogError as error:
        failure(error)
        return
    state.choose_piece(code)
    st.rerun()
