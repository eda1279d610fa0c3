"""Why: one piece, its fault, the likely causes with their evidence, and what to try next."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue, thumbnail
from app.services.causes import faults_of, moved_words, shares, why
from app.widgets.causes import ask_and_answer, cause_list, cautions, facts_known, trials
from app.widgets.first_steps import first_steps
from app.widgets.load_form import cones_editor, load_line
from app.widgets.markup import note
from app.widgets.pieces import failure, glaze_words, piece_alt, reading_words
from app.words.measures import fault_noun
from catalog.causes.knowledge import fault_names
from catalog.errors import CatalogError
from catalog.records import Piece

USE_LINE = (
    "Nothing here says what a piece may be used for: not for food or drink until ware of this glaze, "
    "clay and firing has been tested by an accredited laboratory."
)


def chosen() -> tuple[Piece, str | None] | None:
    """Show which piece and which fault; gives both."""
    catalog = catalogue()
    pieces = {piece.code: piece for piece in catalog.pieces(order="code")}
    faulty = [code for code, piece in pieces.items() if faults_of(piece)]
    codes = faulty + [code for code in pieces if code not in faulty]
    kept = state.chosen_piece()
    with st.container(horizontal=True):
        code = st.selectbox(
            "Piece",
            codes,
            index=codes.index(kept) if kept in codes else 0,
            format_func=lambda c: _piece_words(pieces[c]),
            width=420,
        )
        state.choose_piece(code)
        piece = pieces[code]
        seen = faults_of(piece)
        others = [name for name in fault_names() if name not in seen]
        fault = st.selectbox(
            "Fault",
            [*seen, *others],
            index=0 if seen else None,
            placeholder="none seen: name one",
            format_func=fault_noun,
            key=f"fault_{code}",
            width=240,
        )
    return piece, fault


def _piece_words(piece: Piece) -> str:
    parts = [piece.code, glaze_words(piece), *(fault_noun(fault) for fault in faults_of(piece))]
    return " · ".join(parts)


def show() -> None:
    """Show the answer for one piece."""
    st.title("Why")
    if not catalogue().count_pieces():
        first_steps()
        return
    picked = chosen()
    if picked is None:
        return
    piece, fault = picked
    if fault is None:
        st.write("No fault is seen or recorded on this piece. Name one above to ask why it might come.")
        return
    try:
        diagnosis = why(catalogue(), piece.code, fault)
    except CatalogError as error:
        failure(error)
        return
    cautions(diagnosis)
    _seen(piece)
    _moved(piece, fault, diagnosis)
    left, right = st.columns([3, 2], gap="large")
    with left:
        st.header("Likely causes")
        cause_list(diagnosis)
    with right:
        st.header("What is known")
        _the_firing(piece)
        ask_and_answer(piece, diagnosis)
        facts_known(diagnosis)
    st.header("What to try next")
    trials(diagnosis)
    st.html(note(USE_LINE))


def _seen(piece: Piece) -> None:
    if not piece.readings:
        return
    reading = piece.readings[0]
    with st.container(horizontal=True, gap="medium"):
        picture = thumbnail(reading.id, 480)
        if picture is not None:
            with st.container(width=150):
                st.image(picture, width="stretch", alt=piece_alt(piece))
        with st.container(width=560):
            st.subheader("What was seen")
            reading_words(reading.tile, reading)
            if st.button("Open this piece", type="tertiary", icon=":material/arrow_forward:"):
                st.switch_page("views/shelf.py")


def _the_firing(piece: Piece) -> None:
    if piece.load is None:
        st.html(note("Which load this piece came from is not said. Open it on the Shelf to say so."))
        return
    st.markdown(f"**{piece.load.name}**")
    st.caption(load_line(piece.load))
    st.write("Witness cone reached, shelf by shelf:")
    if cones_editor(piece.load, "why"):
        st.rerun()
    if piece.shelf:
        st.caption(f"This piece stood on the {piece.shelf} shelf.")


def _moved(piece: Piece, fault: str, diagnosis) -> None:
    """Say how the ranking moved since it was last shown for this piece."""
    key = f"shares_{piece.code}_{fault}"
    before = state.remembered(key, {})
    words = moved_words(before, diagnosis)
    if words is not None:
        st.toast(words)
        state.remember(f"moved_{key}", words)
    state.remember(key, shares(diagnosis))
    kept = state.remembered(f"moved_{key}", None)
    if kept is not None:
        st.html(note(f"Since you changed the record: {kept}"))


show()
