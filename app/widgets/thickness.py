"""The field for how thick tiles are: their faces lie so much above the card, and nearer the phone."""

from __future__ import annotations

import streamlit as st

from app.words.choices import length_unit, shown_length, told_length

__all__ = ["thickness_field"]

_MOST_MM = 60.0


def thickness_field(kept_mm: float | None, key: str) -> float | None:
    """Ask for the thickness of tiles in the reader's unit; gives millimetres, None where it is not said."""
    unit = length_unit()
    typed = st.number_input(
        f"Thickness of the tiles, {unit}",
        0.0,
        shown_length(_MOST_MM),
        None if kept_mm is None else shown_length(kept_mm),
        0.5 if unit == "mm" else 0.02,
        "%.1f" if unit == "mm" else "%.2f",
        key=f"{key}_{unit}",
        placeholder="not said",
        help="Sizes are then right at the tile's face, above the card. Not said, 6 mm are assumed.",
        width=240,
    )
    return None if typed is None else told_length(float(typed))
