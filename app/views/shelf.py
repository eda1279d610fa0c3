"""Shelf: every filed piece as it stands, filtered and sorted; one opened, or several side by side."""

from __future__ import annotations

from typing import cast

import streamlit as st

from app import state
from app.cache import catalogue
from app.widgets.board import board
from app.widgets.compare import MOST_COMPARED, compare_page
from app.widgets.first_steps import first_steps
from app.widgets.markup import plain
from app.widgets.piece_page import piece_page
from app.widgets.pieces import failure
from catalog.errors import CatalogError, PieceNotFoundError
from catalog.piece_search import PieceFilter
from catalog.records import FINISHES, PIECE_KINDS
from catalog.shelf_order import shelf_page

PAGE = 48
KIND_WORDS = {"tile": "Tiles", "ware": "Ware", "patch": "Close-ups"}
FAULTS = ("pinholed", "blistered", "cratered", "specked", "crazed", "crawled")
ORDERS = {
    "code": "Code",
    "newest": "Newest",
    "hue": "Hue",
    "lightness": "Light to dark",
    "glaze": "Glaze",
    "firing": "Firing",
    "fault": "Fault",
}
_MORE = ("body", "kind", "cone", "finish", "held")
HELD = {"yes": "With somebody", "no": "Here"}


def filters() -> PieceFilter:
    """Show the filters and give those that are set. They combine, and stand in the page's address."""
    catalog = catalogue()
    all_loads = catalog.loads()
    loads = {load.name: load.id for load in all_loads}
    bodies = {body.name: body.id for body in catalog.bodies()}
    glazes = list(dict.fromkeys(recipe.name for recipe in catalog.recipes()))
    cones = list(dict.fromkeys(load.cone_aimed for load in all_loads if load.cone_aimed))
    with st.container(horizontal=True, gap="small"):
        load = _choice("Load", loads, "load")
        glaze = _choice("Glaze", glazes, "glaze")
        fault = _choice("Fault", FAULTS, "fault")
        text = st.text_input(
            "Search", key="words", bind="query-params", placeholder="code or word", width=158
        )
    body = kind = cone = finish = held = None
    more_set = any(st.session_state.get(name) or name in st.query_params for name in _MORE)
    more = st.expander("Clay, kind, cone, finish, where", expanded=more_set, on_change="rerun", key="more")
    if more.open or more_set:  # folded and unset, they would only slow the first view
        with more, st.container(horizontal=True, gap="small"):
            body = _choice("Clay body", bodies, "body")
            kind = _choice("Kind", PIECE_KINDS, "kind", KIND_WORDS)
            cone = _choice("Cone aimed at", cones, "cone")
            finish = _choice("Finish", FINISHES, "finish")
            held = _choice("Where", HELD, "held", HELD)
    chosen = PieceFilter(
        load_id=loads.get(load or ""),
        recipe_name=glaze,
        body_id=bodies.get(body or ""),
        fault=fault,
        kind=kind,
        cone=cone,
        finish=finish,
        held=None if held is None else held == "yes",
        text=text or None,
    )
    return cast("PieceFilter", {name: value for name, value in chosen.items() if value is not None})


def _choice(label: str, options, key: str, words: dict[str, str] | None = None) -> str | None:
    return st.selectbox(
        label,
        list(options),
        index=None,
        placeholder="any",
        format_func=lambda name: (words or {}).get(name, name),
        width=158,
        key=key,
        bind="query-params",
    )


def gallery() -> None:
    """Show the pieces that pass the filters."""
    st.title("Shelf")
    chosen = filters()
    picks: list[str] = state.remembered("shelf_picks", [])
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small"):
        order = st.selectbox(
            "Sorted by",
            list(ORDERS),
            format_func=ORDERS.__getitem__,
            width=158,
            key="sort",
            bind="query-params",
        )
        picking = st.toggle("Choose some to compare", key="choosing", persist_state="session")
        if (
            picking
            and 2 <= len(picks) <= MOST_COMPARED
            and st.button(f"Compare these {len(picks)}", type="primary", icon=":material/arrow_forward:")
        ):
            st.query_params["compare"] = ",".join(picks)
            st.rerun()
        if picking and picks and st.button("Choose none"):
            state.remember("shelf_picks", [])
            st.rerun()
    page = max(1, state.remembered("shelf_page", 1))
    found, total = shelf_page(catalogue(), chosen, order=order, limit=PAGE, offset=(page - 1) * PAGE)
    pages = max(1, -(-total // PAGE))
    if page > pages:
        page = 1
        found, total = shelf_page(catalogue(), chosen, order=order, limit=PAGE)
    if not total:
        st.write("No piece passes all these filters. Take one away.")
        return
    state.remember("shelf_page", page)
    if pages > 1:
        _turn_pages(page, pages)
    told = "1 piece" if total == 1 else f"{total} pieces"
    if picking:
        st.caption(f"{told}. Choose 2 to {MOST_COMPARED}; chosen: {', '.join(picks) or 'none yet'}.")
    else:
        st.caption(f"{told}. Choose one to open it.")
    code = board(found, key="shelf_board", picked=picks if picking else None)
    if code is None:
        return
    if picking:
        kept = [one for one in picks if one != code]
        state.remember("shelf_picks", kept if code in picks else [*kept, code][-MOST_COMPARED:])
    else:
        state.choose_piece(code)
    st.rerun()


def _turn_pages(page: int, pages: int) -> None:
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small"):
        before = st.button("Page before", icon=":material/arrow_back:", disabled=page == 1)
        given = st.number_input(f"Page of {pages}", 1, pages, page, width=120, key=f"page_{pages}_{page}")
        after = st.button("Next page", icon=":material/arrow_forward:", disabled=page == pages)
    wanted = page + after - before if after or before else given
    if wanted != page:
        state.remember("shelf_page", wanted)
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
    """Show the shelf, what is chosen on it, or several pieces side by side; the address says which."""
    catalog = catalogue()
    several = st.query_params.get("compare")
    if several:
        compare_page([code for code in several.split(",") if code])
        return
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
