"""The sample studio: one touch in, one touch out, own pieces left alone."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.demo import demo_folder, fill_sample_studio, remove_sample_studio, sample_pieces
from app.widgets.markup import advice_note, note
from app.words import error_advice
from catalog.errors import CatalogError

__all__ = ["fill_button", "sample_studio"]


def sample_studio() -> None:
    """Show the way in, or the way out."""
    told = state.remembered("sample_told", None)
    if told:
        st.html(note(told))
    if demo_folder() is None:
        st.caption("The sample photos are not on this computer.")
        return
    try:
        count = sample_pieces(catalogue())
    except CatalogError as error:
        st.html(advice_note(error_advice(error)))
        return
    if count:
        st.write(
            f"{count} pieces here are those of the invented sample studio. Taking it out leaves your own."
        )
        if st.button("Take the sample studio out"):
            state.remember("sample_told", remove_sample_studio(catalogue()))
            state.choose_piece(None)
            st.cache_data.clear()
            st.rerun()
    elif catalogue().count_pieces():
        st.write("This catalogue holds pieces of your own, so the sample studio is not mixed into it.")
    else:
        fill_button()


def fill_button() -> None:
    """Show the button that fills a fresh catalogue by reading the sample photos."""
    if not st.button("Fill the sample studio"):
        return
    bar = st.progress(0.0, "Reading the sample photos")
    folder = demo_folder()

    def progress(done: int, total: int, name: str) -> None:
        bar.progress(done / total, f"Reading photo {done + 1} of {total}: {name}")

    try:
        if folder is not None:
            fill_sample_studio(catalogue(), folder, progress)
    except CatalogError as error:
        st.html(advice_note(error_advice(error)))
        return
    state.remember("sample_told", None)
    st.rerun()
