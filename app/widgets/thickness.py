"""Fields for lengths in the reader's unit, kept in millimetres; that for how thick tiles are."""

from __future__ import annotations

from typing import Any

import streamlit as st

from app.words.choices import length, length_unit, shown_length, told_length

__all__ = ["length_field", "thickness_field"]

_MOST_MM = 60.0
_ASSUMED_MM = 6.0


def length_field(
    label: str, most_mm: float, kept_mm: float | None, *, key: str, step_mm: float, **more: Any
) -> float | None:
    """Ask for a length in the reader's unit; gives millimetres, None where it is not said.

    Parameters
    ----------
    label : without the unit
    most_mm, kept_mm : the largest that makes sense, and what is kept
    step_mm : of the field's buttons; an inch's hundredth or more where inches are shown
    more : passed on to the field
    """
    unit = length_unit()
    step = step_mm if unit == "mm" else max(0.01, round(shown_length(step_mm), 2))
    places = 2 if unit == "in" else 0 if step_mm >= 1 else 1
    typed = st.number_input(
        f"{label}, {unit}",
        0.0,
        shown_length(most_mm),
        None if kept_mm is None else shown_length(kept_mm),
        step,
        f"%.{places}f",
        key=f"{key}_{unit}",
        **more,
    )
    if typed is None or kept_mm is None or abs(float(typed) - shown_length(kept_mm)) > 1e-9:
        return None if typed is None else told_length(float(typed))
    return kept_mm


def thickness_field(kept_mm: float | None, key: str) -> float | None:
    """Ask for the thickness of tiles in the reader's unit; gives millimetres, None where it is not said."""
    return length_field(
        "Thickness of the tiles",
        _MOST_MM,
        kept_mm,
        key=key,
        step_mm=0.5,
        placeholder="not said",
        help="Sizes are then right at the tile's face, above the card. "
        f"Not said, {length(_ASSUMED_MM)} is assumed.",
        width=240,
    )
