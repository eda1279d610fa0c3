"""Before loading: the glazed pieces that wait, what to look at first, and the load they go into."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from html import escape

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.bench import open_loads, put_in_load, warning_lines
from app.services.studio import load_title
from app.widgets.allowed import allowed, mine_of
from app.widgets.load_form import new_load
from app.widgets.markup import note, plain
from app.widgets.pieces import failure
from app.words.bench import PRACTICE, pieces_words
from catalog.bench.codes import codes_in_short
from catalog.errors import CatalogError
from catalog.records import Piece

__all__ = ["before_loading", "load_warnings"]


def load_warnings(pieces: Sequence[Piece]) -> int:
    """Show what to look at on pieces before they are loaded; gives how many things."""
    lines = warning_lines(catalogue().bench.warnings(pieces))
    for line in lines:
        st.html(
            f'<div class="gb-note"><b>{escape(line.sentence)}</b> {escape(line.next_step)}'
            f'<span class="gb-line">{escape(codes_in_short(line.codes))}</span></div>'
        )
    if lines:
        st.caption(f"Limits: {PRACTICE[:1].lower()}{PRACTICE[1:]}")
    return len(lines)


def before_loading() -> None:
    """Show the pieces to load."""
    catalog = catalogue()
    pieces = catalog.bench.to_load()
    _loaded()
    if not pieces:
        st.write("No glazed piece waits for a kiln. They come here when they are kept under Glaze.")
        return
    codes = [piece.code for piece in pieces]
    st.write(plain(f"{pieces_words(len(pieces))} glazed and in no load yet: {codes_in_short(codes)}."))
    if not load_warnings(pieces):
        st.caption("Nothing to look at first: cones match, nothing known to run, feet wiped as far as said.")
    if allowed("load"):
        _put(pieces)


def _loaded() -> None:
    """Show what was put in a load last, and the way back."""
    told, codes = state.remembered("bench_loaded", ("", ()))
    if not told:
        return
    st.html(note(told))
    if codes and st.button("Undo: take them out again", icon=":material/undo:"):
        try:
            put_in_load(catalogue(), codes, None)
        except CatalogError as error:
            failure(error)
            return
        state.remember("bench_loaded", (f"{pieces_words(len(codes))} taken out of the load again.", ()))
        st.rerun()


def _put(pieces: Sequence[Piece]) -> None:
    catalog = catalogue()
    today = datetime.now(UTC).date()
    st.subheader("Put them in a load")
    leave = st.multiselect(
        "Leave out", [piece.code for piece in pieces], placeholder="none", key=f"load_without_{len(pieces)}"
    )
    chosen = mine_of([piece.code for piece in pieces if piece.code not in leave])
    loads = open_loads(catalog, today)
    if loads:
        kept = state.remembered("bench_load", None)
        load_id = st.selectbox(
            "Load",
            list(loads),
            index=list(loads).index(kept) if kept in loads else 0,
            format_func=lambda number: load_title(loads[number]),
            width=420,
        )
        state.remember("bench_load", load_id)
        if st.button(f"Put {pieces_words(len(chosen))} in it", type="primary", disabled=not chosen):
            try:
                put_in_load(catalog, chosen, load_id)
            except CatalogError as error:
                failure(error)
                return
            title = load_title(loads[load_id])
            told = f"{pieces_words(len(chosen))} put in {title}. Shelf and side are said under Firings."
            state.remember("bench_loaded", (told, chosen))
            st.rerun()
    with st.expander("Another load" if loads else "Say which load this is", expanded=not loads):
        made = new_load("bench")
        if made is not None:
            state.remember("bench_load", made.id)
            st.rerun()
