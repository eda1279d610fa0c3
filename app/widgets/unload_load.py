"""The load that an unloading came from: guessed from labels, changed by a person, made where it is new."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app.cache import catalogue
from app.services.unload_filing import guessed_load
from app.widgets.load_form import load_line, new_load
from app.widgets.markup import plain
from app.words.unloading import load_guess_words
from catalog.unloading.records import Unloading, UnloadingPhoto

__all__ = ["choose_load"]


def choose_load(unloading: Unloading, photos: Sequence[UnloadingPhoto]) -> int | None:
    """Show the load with its guess and the way to a new one; gives the load that stands."""
    catalog = catalogue()
    loads = {load.id: load for load in catalog.loads("glaze")}
    guess, by_labels = guessed_load(catalog, photos)
    standing = unloading.load_id if unloading.load_id in loads else guess
    if loads:
        ids = list(loads)
        chosen = st.selectbox(
            "Load these came from",
            ids,
            index=ids.index(standing) if standing in loads else 0,
            format_func=lambda load_id: loads[load_id].name,
        )
        line = load_line(loads[chosen])
        if unloading.load_id is None and chosen == guess:
            line = f"{line}. {load_guess_words(by_labels=by_labels)}"
        st.caption(plain(line))
        if chosen != standing:
            _set(unloading, chosen)
    with st.expander("Another load" if loads else "Say which load this is", expanded=not loads):
        made = new_load("unload")
    if made is not None:
        _set(unloading, made.id)
    return standing


def _set(unloading: Unloading, load_id: int) -> None:
    catalogue().unloadings.set_load(unloading.id, load_id)
    st.rerun()
