"""Ware: pieces made for use or sale, what each may be used for, who has it, what to call back."""

from __future__ import annotations

from html import escape

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.causes import use_case
from app.services.printing import care_note
from app.services.ware import made_rows, recall_csv, recall_rows
from app.sheets.care_note import care_notes_pdf
from app.widgets.board import board
from app.widgets.first_steps import first_steps
from app.widgets.markup import facts_table, plain, stop_box
from app.widgets.piece_page import marked_picture
from app.widgets.pieces import failure
from app.widgets.use import use_of_ware
from app.widgets.ware_holder import holder_of_piece, holder_words
from app.words.unloading import count_words
from catalog.errors import CatalogError
from catalog.piece_search import PieceFilter
from catalog.records import Piece

PAGE = 24
WHERE = ("All ware", "With somebody", "Here")


def show() -> None:
    """Show one piece, or all ware."""
    st.title("Ware")
    catalog = catalogue()
    if not catalog.count_pieces():
        first_steps()
        return
    code = st.query_params.get("ware")
    if code is not None:
        try:
            _one(catalog.piece(code))
        except CatalogError as error:
            failure(error)
            _back()
        return
    _all()


def _all() -> None:
    catalog = catalogue()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        where = st.segmented_control("Where it is", WHERE, default=state.remembered("ware_where", WHERE[0]))
        state.remember("ware_where", where or WHERE[0])
        text = st.text_input(
            "Search", state.remembered("ware_text", ""), placeholder="code, glaze, load or word", width=260
        )
        state.remember("ware_text", text)
    holders = catalog.ware.holders()
    filters: PieceFilter = {"kind": "ware"}
    if text.strip():
        filters["text"] = text
    if where == WHERE[1]:
        filters["codes"] = tuple(holders)
        del filters["kind"]
    found = catalog.pieces(order="code", **filters)
    if where == WHERE[2]:
        found = tuple(piece for piece in found if piece.code not in holders)
    if not found:
        st.write(
            "No ware is found so. Mugs and bowls come here when they are filed as ware under Unload; "
            "a piece on the Shelf can be opened here too."
        )
        return
    shown = state.remembered("ware_shown", PAGE)
    st.caption("1 piece" if len(found) == 1 else f"{len(found)} pieces. Choose a code to open one.")
    under = {piece.code: holder_words(holders.get(piece.code)) for piece in found[:shown]}
    code = board(found[:shown], key="ware_board", under=under)
    if code is not None:
        st.query_params["ware"] = code
        st.rerun()
    if len(found) > shown and st.button("Show more"):
        state.remember("ware_shown", shown + PAGE)
        st.rerun()


def _back() -> None:
    if st.button("All ware", icon=":material/arrow_back:"):
        del st.query_params["ware"]
        st.rerun()


def _one(piece: Piece) -> None:
    catalog = catalogue()
    use = use_case(catalog, piece)
    with st.container(horizontal=True, vertical_alignment="center"):
        _back()
        st.header(plain(piece.code))
    told = use.statement
    st.html(stop_box(f"{told.use[:1].upper()}{told.use[1:]}."))
    picture, words = st.columns([2, 3], gap="large")
    with picture:
        marked_picture(piece)
        st.html(facts_table(made_rows(piece, use)))
    with words:
        st.subheader("Why so")
        st.html("<ul>" + "".join(f"<li>{escape(reason)}</li>" for reason in told.reasons) + "</ul>")
        st.write(plain(told.next_step))
        use_of_ware(piece, use)
        holder_of_piece(piece, catalog.ware.holders().get(piece.code))
        _note(piece)
        if st.button("Open it on the Shelf", type="tertiary", icon=":material/arrow_forward:"):
            state.choose_piece(piece.code)
            st.switch_page("views/shelf.py")
    _recall(piece)


def _note(piece: Piece) -> None:
    st.subheader("Care note")
    maker = st.text_input("Your name and place, as they shall stand on it", state.remembered("maker", ""))
    state.remember("maker", maker)
    st.download_button(
        "Care note (PDF)",
        care_notes_pdf([care_note(catalogue(), piece, maker)], state.remembered("paper", "A4")),
        f"glostbook-care-note-{piece.code}.pdf",
        "application/pdf",
        icon=":material/download:",
    )


def _recall(piece: Piece) -> None:
    """Show the pieces to call back if this one failed, with who has them."""
    use = use_case(catalogue(), piece)
    st.subheader("If this one fails")
    rows = recall_rows(catalogue(), use)
    if not rows:
        st.write("No other piece shares its load, or its glaze and clay.")
        return
    out = sum(1 for row in rows if row["Who has it"])
    st.write(
        f"{count_words(len(rows), 'sister piece')} of the same load, or the same glaze and clay; "
        + (f"{out} of them with somebody. Look at those first." if out else "none of them is with somebody.")
    )
    with st.expander("Sister pieces", expanded=use.statement.recall):
        st.dataframe(rows, hide_index=True)
        st.download_button(
            "The list (CSV)", recall_csv(rows), f"sisters-of-{piece.code}.csv", "text/csv", type="tertiary"
        )


show()
