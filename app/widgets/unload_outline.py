"""An outline drawn by a person on a photo of an unloading, corner by corner, in place of a found one."""

from __future__ import annotations

from base64 import b64encode
from pathlib import Path
from typing import Any

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.unload_drawing import NEW_PIECE, STRIPE, draw_outline
from app.widgets.pieces import failure
from app.words.unloading import STRIPE_HELP, place_words
from catalog.errors import CatalogError
from catalog.unloading.records import UnloadingPhoto
from vision.errors import VisionError

__all__ = ["draw_round", "drawn_corners"]

_HTML = """
<div class="draw">
  <div class="keys" role="group"></div>
  <div class="pane"><div class="sheet" tabindex="0" role="application"><img alt=""></div></div>
  <p class="said" role="status"></p>
</div>
"""
_CSS = Path(__file__).with_suffix(".css").read_text(encoding="utf-8")
_JS = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")
_WORDS = {
    "keys": "Outline",
    "use": "Use this outline",
    "back": "Take a corner back",
    "again": "Begin anew",
    "nearer": "Larger",
    "farther": "Smaller",
    "none": "Click each corner, going round.",
    "few": "corners; three are the least, four make a flat tile.",
    "enough": "corners. Drag one to move it; click on to add more.",
    "four": "corners, as a flat tile has.",
}


def draw_round(photo: UnloadingPhoto, picture: bytes) -> None:
    """Show the photo to click corners on; what is drawn is kept and the photo read again with it."""
    count = len(photo.said)
    place = st.selectbox(
        "The outline stands for",
        [NEW_PIECE, STRIPE, *range(count)],
        format_func=place_words,
        key=f"outline_place_{photo.id}",
        width=300,
    )
    if place == STRIPE:
        st.caption(STRIPE_HELP)
    drawn = drawn_corners(picture, photo.name, f"outline_{photo.id}")
    if drawn is None:
        return
    try:
        draw_outline(catalogue(), photo, place, drawn)
    except (CatalogError, VisionError) as error:
        failure(error)
        return
    state.remember("unload_drawing", None)
    st.rerun()


def drawn_corners(picture: bytes, name: str, key: str) -> list[list[float]] | None:
    """Show a photo to click corners on; gives them once, x and y as parts of its width and height, 0..1.

    Parameters
    ----------
    picture : JPEG bytes
    name : the photo's, for those who do not see it
    key : the widget's own key
    """
    component = st.components.v2.component("glostbook_outline", html=_HTML, css=_CSS, js=_JS)
    sent: dict[str, Any] = {
        "src": f"data:image/jpeg;base64,{b64encode(picture).decode()}",
        "label": f"{name}. Arrows move the cross, Enter sets a corner, Backspace takes one back",
        "words": _WORDS,
    }
    drawn = component(key=key, data=sent, on_outline_change=lambda: None).get("outline")
    return None if drawn is None else [list(corner) for corner in drawn]
