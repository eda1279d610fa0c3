"""Why: what was seen, what else shows it, likely causes, what to ask and to try, what it may be used for."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue, thumbnail
from app.services.causes import ask_case, faults_of, load_faults, load_table, moved_words, shares
from app.widgets.causes import cause_list, cautions, facts_known, likeness_line
from app.widgets.first_steps import first_steps
from app.widgets.learned import learned, wanted_effects
from app.widgets.load_form import cones_editor, load_line
from app.widgets.markup import note, plain
from app.widgets.new_fault import piece_without_photo
from app.widgets.next_question import answers_given, ask
from app.widgets.next_trial import shared_kiln, trials, trials_under_way
from app.widgets.pieces import failure, glaze_words, piece_alt, reading_words
from app.widgets.use import use_of_piece
from app.widgets.who_else import load_pieces, tallies, who_else
from app.words.measures import fault_noun
from catalog.causes.knowledge import fault_names
from catalog.errors import CatalogError
from catalog.records import Piece

ONE, WHOLE = "One piece", "A whole load"


def chosen() -> tuple[Piece, str | None]:
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
    """Show the answer for one piece, or a load in one table."""
    st.title("Why")
    empty = not catalogue().count_pieces()
    if empty:
        first_steps()
    with st.expander("A fault in my hand, without a photo", expanded=empty):
        piece_without_photo()
    if empty:
        return
    if catalogue().loads("glaze"):
        view = st.segmented_control("Ask about", (ONE, WHOLE), default=ONE, key="why_about")
        if view == WHOLE:
            _whole_load()
            return
    _one_piece()


def _one_piece() -> None:
    piece, fault = chosen()
    if fault is None:
        st.write("No fault is seen or recorded on this piece. Name one above to ask why it might come.")
        return
    try:
        case = ask_case(catalogue(), piece.code, fault)
    except CatalogError as error:
        failure(error)
        return
    diagnosis = case.diagnosis
    cautions(diagnosis)
    left, right = st.columns([3, 2], gap="large")
    with left:
        _seen(piece)
        wanted_effects(case)
        ask(case)
        answers_given(case)
    with right:
        st.subheader("What else shows it")
        who_else(case)
    _moved(case.piece.code, fault, diagnosis)
    left, right = st.columns([3, 2], gap="large")
    with right:
        st.subheader("The firing")
        _the_firing(piece)
        facts_known(diagnosis)
    with left:
        st.header("Likely causes")
        cause_list(case)
        likeness_line(case)
    st.header("What to try next")
    shared_kiln(case)
    trials_under_way(case)
    trials(case)
    st.header("What it may be used for")
    use_of_piece(case)
    st.header("What this studio has learned")
    learned(case)


def _seen(piece: Piece) -> None:
    st.subheader("What was seen")
    if not piece.readings:
        st.caption(f"{plain(piece.code)}: no photo yet; a person named what is wrong.")
        return
    reading = piece.readings[0]
    with st.container(horizontal=True, gap="medium"):
        picture = thumbnail(reading, 480)
        if picture is not None:
            with st.container(width=150):
                st.image(picture, width="stretch", alt=piece_alt(piece))
        with st.container(width=420):
            reading_words(reading.tile, reading)
            if st.button("Open this piece", type="tertiary", icon=":material/arrow_forward:"):
                st.switch_page("views/shelf.py")


def _the_firing(piece: Piece) -> None:
    if piece.load is None:
        st.html(note("Which load this piece came from is not said. Open it on the Shelf to say so."))
        return
    st.markdown(f"**{plain(piece.load.name)}**")
    st.caption(plain(load_line(piece.load)))
    st.write("Witness cone reached, shelf by shelf:")
    if cones_editor(piece.load, "why"):
        st.rerun()
    if piece.shelf:
        st.caption(f"This piece stood on the {plain(piece.shelf)} shelf.")


def _moved(code: str, fault: str, diagnosis) -> None:
    """Say how the ranking moved since it was last shown for this piece."""
    key = f"shares_{code}_{fault}"
    before = state.remembered(key, {})
    words = moved_words(before, diagnosis)
    if words is not None:
        st.toast(plain(words))
        state.remember(f"moved_{key}", words)
    state.remember(key, shares(diagnosis))
    kept = state.remembered(f"moved_{key}", None)
    if kept is not None:
        st.html(note(f"Since you changed the record: {kept}"))


def _whole_load() -> None:
    catalog = catalogue()
    loads = catalog.loads("glaze")
    with st.container(horizontal=True):
        load = st.selectbox("Load", loads, format_func=lambda one: one.name, width=420)
        seen = load_faults(catalog, load)
        fault = st.selectbox(
            "Fault",
            [*seen, *(name for name in fault_names() if name not in seen)],
            format_func=fault_noun,
            key=f"load_fault_{load.id}",
            width=240,
        )
    table = load_table(catalog, load, fault)
    st.caption(plain(load_line(load)))
    if not table.rows:
        st.write("No piece of this load is filed yet.")
        return
    st.write(f"{table.affected} of {table.seen} pieces that were looked at show {fault_noun(fault)}.")
    if cones_editor(load, "why_load"):
        st.rerun()
    st.subheader("Groups")
    st.caption(
        "A pattern needs three affected pieces of a group and counts that chance alone would bring at most "
        "5 times in 100 (Fisher’s exact test)."
    )
    if table.tallies:
        tallies(table.tallies)
    else:
        st.write("All pieces share one glaze, one clay and one shelf as far as it is said.")
    st.subheader("Pieces")
    load_pieces(table)
    codes = [row.code for row in table.rows if row.shows]
    if codes:
        code = st.selectbox("Ask why of one of them", codes, width=220)
        if st.button("Ask why"):
            state.choose_piece(code)
            del st.session_state["why_about"]
            st.rerun()


show()
