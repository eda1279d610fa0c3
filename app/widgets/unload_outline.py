"""An outline drawn by a person on a photo of an unloading, corner by corner, in place of a found one."""

from __future__ import annotations

from base64 import b64encode
from pathlib import Path
from typing import Any

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.unload_drawing import NEW_PIECE, draw_outline
from app.widgets.pieces import failure
from app.words.unloading import place_words
from catalog.errors import CatalogError
from catalog.unloading.records import UnloadingPhoto
from vision.errors import VisionError

__all__ = ["draw_round"]

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
    "none": "Click each corner of the piece, going round it.",
    "few": "corners; three are the least, four make a flat tile.",
    "enough": "corners. Drag one to move it; click on to add more.",
    "four": "corners, as a flat tile has.",
}


def draw_round(photo: UnloadingPhoto, picture: bytes) -> None:
    """Show the photo to click corners on; the outline is kept and the photo read again with it."""
    count = len(photo.said)
    place = st.selectbox(
        "The outline stands for",
        [NEW_PIECE, *range(count)],
        format_func=place_words,
        key=f"outline_place_{photo.id}",
        width=300,
    )
    component = st.components.v2.component("glostbook_outline", html=_HTML, css=_CSS, js=_JS)
    sent: dict[str, Any] = {
        "src": f"data:image/jpeg;base64,{b64encode(picture).decode()}",
        "label": f"{photo.name}. Arrows move the cross, Enter sets a corner, Backspace takes one back",
        "words": _WORDS,
    }
    result = component(key=f"outline_{photo.id}", data=sent, on_outline_change=lambda: None)
    drawn = result.get("outline")
    if drawn is None:
        return
    try:
        draw_outline(catalogue(), photo, place, drawn)
    except (CatalogError, VisionError) as error:
        failure(error)
        return
    state.remember("unload_drawing", None)
    st.rerun()
