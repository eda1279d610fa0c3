"""Firings: one load with its plan, log and cones; all loads; what the kiln is off by; the clays."""

from __future__ import annotations

import streamlit as st

from app import state
from app.address import ask, first, tell
from app.cache import catalogue
from app.widgets.allowed import allowed
from app.widgets.by_place import by_place_view
from app.widgets.clays import clays
from app.widgets.kiln_offsets import offsets
from app.widgets.load_form import new_load
from app.widgets.load_page import load_page
from app.widgets.loads_list import loads_list

PARTS = {
    "One load": load_page,
    "All loads": loads_list,
    "By shelf": by_place_view,
    "Kiln offsets": offsets,
    "Clays and sizes": clays,
}


def show() -> None:
    """Show the loads."""
    st.title("Firings")
    if not catalogue().loads():
        st.write("No load is kept yet. Make the first one here, or with the photos under Unload.")
        made = new_load("firings") if allowed("load") else None
        if made is not None:
            state.remember("load", made.id)
            st.rerun()
        with st.expander("Clays and sizes"):
            clays()
        return
    names = list(PARTS)
    kept = ask("look", names[0])
    first("firings_choice", kept if kept in PARTS else names[0])
    chosen = (
        st.segmented_control("Look at", names, key="firings_choice", label_visibility="collapsed") or names[0]
    )
    tell("look", chosen, chosen)
    PARTS[chosen]()


show()
