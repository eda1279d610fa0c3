"""What a photo says of a piece place by place: colours down the face, at its edges, over a stripe."""

from __future__ import annotations

from dataclasses import replace
from html import escape

import streamlit as st

from app.services.colours import hex_of
from app.widgets.markup import swatch
from app.words.face import THICKNESS_GUESSED, face_lines, pool_words
from app.words.measures import lab_words, rating_words
from vision.rating import rate
from vision.reading import TileReading

__all__ = ["face_colours"]


def face_colours(tile: TileReading) -> None:
    """Show a reading's colours by place, folded, and its rating; nothing where there is neither."""
    lines = face_lines(replace(tile.face_colours, opacity=None))  # how well it hides stands with the finish
    if tile.running is not None and tile.running.pool is not None:
        lines.append(pool_words(tile.running.pool))
    rating = rating_words(rate(tile))
    if rating:
        st.caption(rating)
    if not lines:
        return
    with st.expander("Colour by place: top to bottom, edges, thick and thin"):
        st.html("".join(f'<span class="gb-line">{escape(line)}</span>' for line in lines))
        places = tile.face_colours.thick_thin
        if places is not None:
            st.html(
                swatch(hex_of(places.thin), f"likely thin: {lab_words(places.thin)}")
                + swatch(hex_of(places.thick), f"likely thick: {lab_words(places.thick)}")
            )
            st.caption(THICKNESS_GUESSED)
