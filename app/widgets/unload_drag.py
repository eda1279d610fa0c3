"""Pieces without a label laid on the planned pieces they are: by drag, by two touches, or by keyboard."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from pathlib import Path

import streamlit as st

from app.cache import work_picture
from app.services.unload_matching import Unnamed
from catalog.records import Piece

__all__ = ["match_by_drag"]

_HTML = '<div class="match"></div>'
_CSS = Path(__file__).with_suffix(".css").read_text(encoding="utf-8")
_JS = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")
_PICTURE_PX = 200
_WORDS = {
    "pieces": "Pieces without a label",
    "places": "Planned pieces without a photo",
    "pick": "Drag a piece onto what it is; or choose it, then choose what it is.",
    "put": "Now choose what it is. Escape, or the piece again, lets it go.",
}


def match_by_drag(
    unnamed: Sequence[Unnamed], expected: Sequence[Piece], words: Sequence[str]
) -> tuple[Unnamed, str] | None:
    """Show both sides; gives the piece laid down in this run and the code it was laid on, None if none was.

    Parameters
    ----------
    unnamed, expected : the found pieces, and the planned ones
    words : of each planned piece, in the same order
    """
    component = st.components.v2.component("glostbook_match", html=_HTML, css=_CSS, js=_JS)
    sent = {
        "words": _WORDS,
        "pieces": [_told(one) for one in unnamed],
        "places": [{"code": p.code, "words": told} for p, told in zip(expected, words, strict=True)],
    }
    matched = component(key="unload_match", data=sent, on_matched_change=lambda: None).get("matched")
    if matched is None:
        return None
    key, code = matched
    one = next((each for each in unnamed if _key(each) == key), None)
    return None if one is None or code not in {piece.code for piece in expected} else (one, str(code))


def _key(one: Unnamed) -> str:
    return f"{one.photo.id}:{one.index}"


def _told(one: Unnamed) -> dict[str, str | None]:
    small = work_picture(one.photo.pictures.get(str(one.index)), _PICTURE_PX)
    return {
        "key": _key(one),
        "src": None if small is None else f"data:image/jpeg;base64,{b64encode(small).decode()}",
        "words": f"Photo {one.number}, piece {one.index + 1}",
    }
