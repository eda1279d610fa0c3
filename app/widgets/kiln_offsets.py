"""How far each kiln's thermocouple is from each shelf, load by load."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import streamlit as st

from app.cache import catalogue
from app.services.firings import offset_rows
from app.theme import ACCENT
from app.widgets.markup import note, plain
from app.words.choices import chosen, degrees_unit, spans
from catalog.shown_units import shown_c_difference

if TYPE_CHECKING:
    from catalog.firing.witness import ShelfOffset

__all__ = ["offsets"]

COLOURS = (ACCENT, "#0b6fb8", "#4d7c0f", "#c2410c", "#57534e")
SIGNS = ("circle", "square", "diamond", "triangle-up", "x")


def offsets() -> None:
    """Show the offsets of all kilns and shelves."""
    found = catalogue().workshop.offsets(catalogue().loads())
    if not found:
        st.write(
            "None can be told yet: it takes a load with a witness cone read on a shelf and a plan or a log."
        )
        return
    for each in found:
        st.html(note(spans(each.sentence())))
        if each.drift_words:
            st.caption(plain(spans(each.drift_words)))
    _draw([each for each in found if each.count > 1])
    st.dataframe(offset_rows(found), hide_index=True)
    st.caption(
        "A cone at its end point may have been passed by up to the next cone, so these are least figures; a "
        "half-bent cone gives it nearer. A load without a log is taken at its plan."
    )


def _draw(found: Sequence[ShelfOffset]) -> None:
    import plotly.graph_objects as go

    if not found:
        return
    figure = go.Figure()
    one_kiln = len({each.kiln for each in found}) == 1
    for number, each in enumerate(found):
        figure.add_scatter(
            x=[seen.load for seen in each.loads],
            y=[shown_c_difference(seen.offset_c, chosen().temperature) for seen in each.loads],
            name=each.shelf or "kiln" if one_kiln else f"{each.kiln}, {each.shelf or 'kiln'}",
            mode="lines+markers",
            line={"color": COLOURS[number % len(COLOURS)]},
            marker={"symbol": SIGNS[number % len(SIGNS)], "size": 9},
        )
    figure.update_layout(
        height=300,
        margin={"l": 55, "r": 10, "t": 60, "b": 40},
        paper_bgcolor="rgba(0,0,0,0)",
        plot_bgcolor="rgba(0,0,0,0)",
        legend={"orientation": "h", "y": 1.02, "yanchor": "bottom"},
        yaxis={"title": f"shelf hotter by, {degrees_unit()}", "gridcolor": "rgba(110,98,84,0.2)"},
    )
    st.plotly_chart(figure, config={"displayModeBar": False})
