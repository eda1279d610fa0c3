"""What changed: who changed what and when, with the way back."""

from __future__ import annotations

from itertools import groupby

import streamlit as st

from app import state
from app.cache import catalogue
from app.widgets.markup import facts_table, note, plain
from app.widgets.pieces import failure
from app.words.changes import change_details, change_words, no_way_back_words, who_words
from app.words.choices import day_words
from catalog.errors import CatalogError
from catalog.people.changes import Change

__all__ = ["what_changed"]

_AT_ONCE = 12


def what_changed() -> None:
    """List changes day by day, the newest first; each opens to how it was and became, and the way back."""
    catalog = catalogue()
    told = state.remembered("changes_told", "")
    if told:
        st.html(note(told))
        state.remember("changes_told", "")
    names = catalog.changes.people()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        about = st.text_input("Of which piece, load, glaze, clay or bucket", placeholder="any", width=300)
        who = st.selectbox(
            "By whom", names, index=None, format_func=who_words, placeholder="anybody", width=240
        )
    shown = state.remembered("changes_shown", _AT_ONCE)
    changes = catalog.changes.list(limit=shown + 1, about=about or None, who=who)
    if not changes:
        st.caption("No such change is noted." if about or who is not None else "No change is noted.")
    for day, of_day in groupby(changes[:shown], lambda change: change.made_at.astimezone().date()):
        st.markdown(f"**{day_words(day)}**")
        for change in of_day:
            _entry(change)
    if len(changes) > shown and st.button("Earlier changes"):
        state.remember("changes_shown", shown + _AT_ONCE)
        st.rerun()


def _entry(change: Change) -> None:
    words = plain(change_words(change))
    by = plain(who_words(change.who))
    struck = f"~~{words}~~ (taken back)" if change.is_back and change.takes_back is None else words
    with st.expander(f"{change.made_at.astimezone():%H:%M}, {by}: {struck}"):
        details = change_details(change)
        if details:
            st.html(facts_table(details))
        st.caption(plain(f"Change {change.number}. {no_way_back_words(change)}"))
        if change.may_go_back and st.button(
            "Take back", key=f"gb_back_{change.number}", icon=":material/undo:"
        ):
            _take_back(change)


def _take_back(change: Change) -> None:
    try:
        catalogue().changes.take_back(change.number)
    except CatalogError as error:
        failure(error)
        return
    state.remember("changes_told", f"Taken back: {change_words(change)}")
    st.cache_data.clear()
    st.rerun()
