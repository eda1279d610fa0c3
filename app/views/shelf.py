"""Shelf: every filed piece as it stands, filtered; one piece opened with all that is known of it."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.widgets.first_steps import first_steps
from app.widgets.markup import plain
from app.widgets.piece_page import piece_page
from app.widgets.pieces import failure, shelf_piece
from catalog.errors import CatalogError, PieceNotFoundError
from catalog.records import PIECE_KINDS

PAGE = 48
KIND_WORDS = {"tile": "Tiles", "ware": "Ware", "patch": "Close-ups"}
FAULTS = ("pinholed", "blistered", "cratered", "specked", "crazed", "crawled")


def filters() -> dict[str, object]:
    """Show the filters and give those that are set; they combine."""
    catalog = catalogue()
    loads = {load.name: load.id for load in catalog.loads()}
    bodies = {body.name: body.id for body in catalog.bodies()}
    glazes = [recipe.name for recipe in catalog.recipes()]
    with st.container(horizontal=True, gap="small"):
        load = _choice("Load", loads, "load")
        glaze = _choice("Glaze", glazes, "glaze")
        body = _choice("Clay body", bodies, "body")
        fault = _choice("Fault", FAULTS, "fault")
        kind = _choice("Kind", PIECE_KINDS, "kind", KIND_WORDS)
        text = st.text_input(
            "Search", value=state.remembered("shelf_text", ""), placeholder="code or word", width=158
        )
    state.remember("shelf_text", text)
    chosen = {
        "load_id": loads.get(load or ""),
        "recipe_name": glaze,
        "body_id": bodies.get(body or ""),
        "fault": fault,
        "kind": kind,
        "text": text or None,
    }
    return {name: value for name, value in chosen.items() if value is not None}


def _choice(label: str, options, key: str, words: dict[str, str] | None = None) -> str | None:
    names = list(options)
    kept = state.remembered(f"shelf_{key}", None)
    chosen = st.selectbox(
        label,
        names,
        index=names.index(kept) if kept in names else None,
        placeholder="any",
        format_func=lambda name: (words or {}).get(name, name),
        width=158,
    )
    state.remember(f"shelf_{key}", chosen)
    return chosen


def gallery() -> None:
    """Show the pieces that pass the filters."""
    catalog = catalogue()
    st.title("Shelf")
    chosen = filters()
    total = catalog.count_pieces(**chosen)
    if not total:
        st.write("No piece passes all these filters. Take one away.")
        return
    pages = -(-total // PAGE)
    page = 1
    if pages > 1:
        page = st.number_input(f"Page of {pages}", 1, pages, 1, width=140)
    st.caption("1 piece" if total == 1 else f"{total} pieces. Choose a code to open one.")
    with st.container(horizontal=True, gap=None):
        for piece in catalog.pieces(limit=PAGE, offset=(page - 1) * PAGE, order="code", **chosen):
            if shelf_piece(piece, key=f"open_{piece.code}"):
                state.choose_piece(piece.code)
                st.rerun()


def taken_off() -> None:
    """Offer the piece taken off last back."""
    code = state.remembered("taken_off", None)
    if code is None:
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        st.write(f"{plain(code)} was taken off the shelf. Its photo and readings are kept.")
        if st.button("Bring it back"):
            try:
                catalogue().restore_piece(code)
            except CatalogError as error:
                failure(error)
                return
            state.remember("taken_off", None)
            st.rerun()


def show() -> None:
    """Show the shelf, or the piece chosen on it; its code stands in the address, to come back to."""
    catalog = catalogue()
    code = state.chosen_piece() or st.query_params.get("piece")
    if code is not None:
        try:
            piece = catalog.piece(code)
        except PieceNotFoundError as error:
            state.choose_piece(None)
            failure(error)
        else:
            st.query_params["piece"] = piece.code
            piece_page(piece)
            return
    if not catalog.count_pieces():
        st.title("Shelf")
        first_steps()
        return
    taken_off()
    gallery()


show()
