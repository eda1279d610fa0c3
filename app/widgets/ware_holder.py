"""Who has a piece: plain text, kept in this catalogue only, erased on a word."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue
from app.widgets.allowed import may
from app.widgets.markup import plain
from app.widgets.pieces import failure
from app.words.choices import date_pattern, day_words
from catalog.errors import CatalogError
from catalog.records import Piece
from catalog.ware.holders import Holder

__all__ = ["holder_of_piece", "holder_words"]


def holder_words(holder: Holder | None) -> str:
    """Say who has a piece."""
    if holder is None:
        return "here, or not said"
    since = "" if holder.since is None else f", since {day_words(holder.since)}"
    return f"{holder.holder}{since}"


def holder_of_piece(piece: Piece, holder: Holder | None) -> None:
    """Show who has a piece, to say, correct or erase."""
    st.subheader("Who has it")
    if not may("piece", piece.id):
        st.write(plain(holder_words(holder)))
        return
    with st.form(f"holder_{piece.code}", border=False):
        name = st.text_input("Person or shop", "" if holder is None else holder.holder)
        since = st.date_input(
            "Since",
            None if holder is None else holder.since,
            format=date_pattern(),
            key=f"since_{piece.code}",
        )
        words = st.text_input("Note", "" if holder is None else holder.note, placeholder="how to reach them")
        kept = st.form_submit_button("Keep who has it")
    st.caption(
        "Kept in this catalogue only, to find a piece that must come back. Older copies of it still hold it."
    )
    try:
        if kept:
            catalogue().ware.set_holder(piece.code, name, since=since, note=words)
            st.rerun()
        if holder is not None and st.button("Erase who has it", type="tertiary"):
            catalogue().ware.forget_holder(piece.code)
            st.rerun()
    except CatalogError as error:
        failure(error)
