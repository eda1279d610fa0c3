"""A straightened piece at full resolution, moved by drag, wheel, pinch or keys; what was found over it."""

from __future__ import annotations

from base64 import b64encode
from collections import Counter
from collections.abc import Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

import streamlit as st
from PIL import Image

from app.theme import MARK_COLOURS
from app.words.measures import plural
from vision.reading import Mark

__all__ = ["zoom_picture"]

_HTML = """
<div class="frame">
  <div class="keys" role="group"></div>
  <div class="pane" tabindex="0" role="application"><div class="sheet"><img alt=""></div></div>
  <div class="layers" role="group"></div>
</div>
"""

_CSS = Path(__file__).with_suffix(".css").read_text(encoding="utf-8")
_JS = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")
_SHAPES = {"pinhole": ("ring", 2), "blister": ("ring", 4), "crater": ("square", 2), "speck": ("diamond", 2)}
_GAP_PX = 3.0
_INK_OF_LAYER = {
    "craze lines": "#d63cbe",
    "lone fine lines": "#28aa5a",
    "bare patches": "#f0c414",
    "glazed face": "#3c8cdc",
    "reflections": "#ff783c",
    "shadow": "#6e3ca0",
    "hanging hole": "#14aa8c",
}

_AT_FIRST_HIDDEN = ("glazed face", "reflections", "shadow")
"""Layers that cover much of the picture wait until they are asked for."""


def zoom_picture(
    data: bytes, alt: str, marks: Sequence[Mark], layers: Mapping[str, bytes], *, key: str
) -> None:
    """Show a straightened view that can be zoomed to its full resolution, each thing found switchable.

    Parameters
    ----------
    data : the view's file
    alt : what it shows
    marks : in pixels of the view
    layers : see-through PNG pictures by name, as large as the view or of its shape
    key : the widget's own key
    """
    with Image.open(BytesIO(data)) as image:
        width, height = image.size
        kind = (image.format or "jpeg").lower()
    component = st.components.v2.component("glostbook_zoom", html=_HTML, css=_CSS, js=_JS)
    sent: dict[str, Any] = {
        "src": _address(data, kind),
        "width": width,
        "height": height,
        "alt": alt,
        "label": f"{alt}. Plus and minus zoom, arrows move, 0 or Escape shows the whole",
        "words": {
            "size": "Size",
            "nearer": "Nearer",
            "farther": "Farther",
            "whole": "Whole",
            "layers": "Drawn over it",
        },
        "layers": [*_mark_layers(marks), *_mask_layers(layers)],
    }
    component(key=key, data=sent)


def _address(data: bytes, kind: str) -> str:
    return f"data:image/{kind};base64,{b64encode(data).decode()}"


def _mark_layers(marks: Sequence[Mark]) -> list[dict[str, Any]]:
    counts = Counter(str(mark.kind) for mark in marks)
    found = []
    for kind, count in counts.items():
        shape, wide = _SHAPES[kind]
        places = [
            [round(m.x_px, 1), round(m.y_px, 1), round(m.diameter_px / 2 + _GAP_PX, 1)]
            for m in marks
            if str(m.kind) == kind
        ]
        words = f"{count} {kind if count == 1 else plural(kind)}"
        found.append(
            {
                "name": kind,
                "words": words,
                "ink": MARK_COLOURS[kind],
                "shape": shape,
                "wide": wide,
                "marks": places,
            }
        )
    return found


def _mask_layers(layers: Mapping[str, bytes]) -> list[dict[str, Any]]:
    return [
        {
            "name": name,
            "words": name,
            "ink": _INK_OF_LAYER[name],
            "src": _address(data, "png"),
            "hidden": name in _AT_FIRST_HIDDEN,
        }
        for name, data in layers.items()
    ]
