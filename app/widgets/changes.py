"""What changed: who changed what and when, with the way back."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.widgets.markup import facts_table, note, plain
from app.widgets.pieces import failure
from app.words.changes import change_details, change_words, who_words
from app.words.choices import day_words
from catalog.errors import CatalogError
from catalog.people.changes import Change

__all__ = ["what_changed"]

_AT_ONCE = 12


def what_changed() -> None:
    """List changes, the newest first, each with the way back where nothing newer rests on it."""
    catalog = catalogue()
    told = state.remembered("changes_told", "")
    if told:
        st.html(note(told))
    names = catalog.changes.people()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        about = st.text_input("Of which piece, load, glaze or clay", placeholder="any", width=300)
        who = None
        if len(names) > 1:
            who = st.selectbox(
                "By whom", names, index=None, format_func=who_words, placeholder="anybody", width=200
            )
    shown = state.remembered("changes_shown", _AT_ONCE)
    changes = catalog.changes.list(limit=shown + 1, about=about or None, who=who)
    if not changes:
        st.caption("No change is noted.")
    for change in changes[:shown]:
        _line(change, with_name=names != ("",))
    if len(changes) > shown and st.button("Earlier changes"):
        state.remember("changes_shown", shown + _AT_ONCE)
        st.rerun()


def _line(change: Change, *, with_name: bool) -> None:
    who = f", {plain(who_words(change.who))}" if with_name else ""
    when = f"{day_words(change.made_at.astimezone().date())} {change.made_at.astimezone():%H:%M}"
    with st.container(horizontal=True, vertical_alignment="center"):
        words = plain(change_words(change))
        st.markdown(f"{when}{who}: {f'~~{words}~~' if change.is_back else words}")
        if change.may_go_back and st.button("Take back", key=f"gb_back_{change.number}", type="tertiary"):
            _take_back(change)
    details = change_details(change)
    if details:
        with st.expander("As it was and became"):
            st.html(facts_table(details))


def _take_back(change: Change) -> None:
    try:
        catalogue().changes.take_back(change.number)
    except CatalogError as error:
        failure(error)
        return
    state.remember("changes_told", f"Taken back: {change_words(change)}")
    st.cache_data.clear()
    st.rerun()
