"""Many pieces as they stand on boards: one small component of our own, so that a page of them is quick."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

import streamlit as st

from app.cache import thumbnail
from app.widgets.pieces import glaze_words, piece_alt
from app.words import error_advice
from catalog.errors import CatalogError
from catalog.faults import effective_faults
from catalog.records import Piece

__all__ = ["board"]

_SURE = 0.8
_THUMB_PX = 320

_HTML = '<div class="board"></div>'

_CSS = Path(__file__).with_suffix(".css").read_text(encoding="utf-8")
_JS = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")


def board(
    pieces: Sequence[Piece],
    *,
    key: str,
    under: Mapping[str, str] | None = None,
    picked: Collection[str] | None = None,
) -> str | None:
    """Show pieces side by side and give the code of the one chosen in this run, None if none was.

    Parameters
    ----------
    pieces : in the order to show
    key : the widget's own key
    under : a line of words below a piece, by code, such as a colour difference
    picked : codes already picked, where several can be; None where choosing opens a piece
    """
    component = st.components.v2.component("glostbook_board", html=_HTML, css=_CSS, js=_JS)
    sent = {
        "picking": picked is not None,
        "pieces": [_told(piece, (under or {}).get(piece.code, ""), picked or ()) for piece in pieces],
    }
    chosen = component(key=key, data=sent, on_chosen_change=lambda: None).get("chosen")
    return None if chosen is None else str(chosen)


def _told(piece: Piece, under: str, picked: Collection[str]) -> dict[str, Any]:
    picture, missing = None, "no photo yet"
    if piece.readings:
        try:
            picture = thumbnail(piece.readings[0], _THUMB_PX)
            missing = "no picture kept"
        except CatalogError as error:
            missing = error_advice(error).sentence
    clay = "clay not said" if piece.body is None else piece.body.name
    return {
        "code": piece.code,
        "src": None if picture is None else f"data:image/webp;base64,{b64encode(picture).decode()}",
        "alt": piece_alt(piece),
        "missing": missing,
        "lines": [glaze_words(piece), clay, *([under] if under else [])],
        "faults": [(fault.fault, fault.probability >= _SURE) for fault in effective_faults(piece)],
        "picked": piece.code in picked,
    }
