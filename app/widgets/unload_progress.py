"""How far the reading of an unloading is, while a program in the background does it."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue
from app.services.unload_start import see_to_reading
from app.widgets.markup import advice_note
from app.words.unloading import count_words, progress_words
from catalog.unloading.records import Unloading, UnloadingState

__all__ = ["reading_progress"]


def reading_progress(unloading: Unloading, then: UnloadingState) -> None:
    """Show the progress while there are photos to read.

    Parameters
    ----------
    then : what this run of the page shows; once all are read the page runs anew
    """
    if not then.to_read:
        return
    if unloading.stopped:
        st.html(f'<div class="gb-note"><b>Stopped.</b> {progress_words(then)[1]}.</div>')
        if st.button("Go on reading", type="primary"):
            catalogue().unloadings.set_stopped(unloading.id, False)
            st.rerun()
        return
    _watch(unloading.id, then.total - then.to_read)


@st.fragment(run_every=1.0)
def _watch(unloading_id: int, shown: int) -> None:
    catalog = catalogue()
    now = catalog.unloadings.state(unloading_id)
    done = now.total - now.to_read
    if not now.to_read or (done and not shown):
        st.rerun()
    trouble = see_to_reading(catalog)
    if trouble is not None:
        st.html(advice_note(trouble))
    fraction, words = progress_words(now)
    st.progress(fraction, words)
    st.caption("This page may be closed or left: the reading goes on, and is shown when you come back.")
    with st.container(horizontal=True):
        if st.button("Stop after this photo"):
            catalog.unloadings.set_stopped(unloading_id, True)
            st.rerun()
        if done > shown and st.button(f"Show {count_words(done - shown, 'more photo')}"):
            st.rerun()
