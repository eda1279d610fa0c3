"""Which pieces a sheet is for: those of a load, or by their codes."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.studio import load_title
from catalog.records import Piece

__all__ = ["choose_pieces"]

_MOST = 400


def choose_pieces(key: str, kind: str | None = None) -> list[Piece]:
    """Show the ways to choose pieces and give those chosen, by code.

    Parameters
    ----------
    key : keeps this choice apart from those of other sheets
    kind : only "tile" or "ware"
    """
    catalog = catalogue()
    loads = {load.id: load_title(load) for load in catalog.loads()}
    kept = state.remembered(f"pieces_load_{key}", None)
    with st.container(horizontal=True):
        load_id = st.selectbox(
            "Pieces of this load",
            list(loads),
            index=list(loads).index(kept) if kept in loads else None,
            placeholder="any load",
            format_func=loads.__getitem__,
            key=f"load_for_{key}",
            width=300,
        )
        state.remember(f"pieces_load_{key}", load_id)
        text = st.text_input(
            "Codes or words",
            state.remembered(f"pieces_text_{key}", state.chosen_piece() or ""),
            placeholder="such as T-0012 or a glaze",
            key=f"text_for_{key}",
            width=300,
        )
        state.remember(f"pieces_text_{key}", text)
    found = catalog.pieces(limit=_MOST, order="code", load_id=load_id, kind=kind, text=text.strip() or None)
    if not found:
        st.write("No piece is found so. Choose another load, or take a word away.")
        return []
    codes = {piece.code: piece for piece in found}
    leave = st.multiselect(
        f"{len(found)} pieces; leave out",
        list(codes),
        placeholder="none",
        key=f"without_{key}_{load_id}_{text}",
    )
    return [piece for code, piece in codes.items() if code not in leave]
