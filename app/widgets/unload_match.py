"""Pieces without a label, shown small: each is told which planned piece it is, by drag or by number."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app.cache import catalogue, work_picture
from app.services.unload_matching import Unnamed, expected_pieces, name_in_order, name_piece, unnamed_pieces
from app.widgets.pieces import glaze_words
from app.widgets.unload_drag import match_by_drag
from catalog.records import Piece
from catalog.unloading.records import UnloadingPhoto

__all__ = ["match_pieces"]

_PICTURE_PX = 260


def match_pieces(numbered: Sequence[tuple[int, UnloadingPhoto]], load_id: int | None) -> None:
    """Show the pieces without a code where planned pieces of the load wait for a photo."""
    unnamed = unnamed_pieces(numbered)
    expected = expected_pieces(catalogue(), load_id, [photo for _, photo in numbered])
    if not unnamed or not expected:
        return
    st.header("Which piece is which?")
    st.caption(
        "These bear no label that could be read. Beside them stand the pieces planned for this load that "
        "have no photo yet; one left open gets a fresh code."
    )
    laid = match_by_drag(unnamed, expected, [_words(piece) for piece in expected])
    if laid is not None:
        name_piece(catalogue(), *laid)
        st.rerun()
    if len(unnamed) > 1 and st.button("They lie in the order of the list"):
        name_in_order(catalogue(), unnamed, expected)
        st.rerun()
    with st.expander("By number"), st.container(horizontal=True, gap="small"):
        options = list(range(len(expected)))
        for one in unnamed:
            _choose(one, expected, options)


def _words(piece: Piece) -> str:
    clay = f" on {piece.body.name}" if piece.body is not None else ""
    return f"{piece.code} · {glaze_words(piece)}{clay}"


def _choose(one: Unnamed, expected: Sequence[Piece], options: list[int]) -> None:
    with st.container(width=150, gap="small"):
        small = work_picture(one.photo.pictures.get(str(one.index)), _PICTURE_PX)
        if small is not None:
            st.image(small, width=120, alt=f"photo {one.number}, piece {one.index + 1}, no label read")
        chosen = st.selectbox(
            f"Photo {one.number}, piece {one.index + 1}",
            options,
            index=None,
            placeholder="number",
            format_func=lambda index: f"{index + 1} · {expected[index].code}",
            key=f"name_{one.photo.id}_{one.index}_{expected[0].code}_{len(expected)}",
        )
        if chosen is not None:
            name_piece(catalogue(), one, expected[chosen].code)
            st.rerun()
