"""A firing drawn: plan and log over hours, cones by shelf, the inversions, the last 100 °C."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from app.theme import ACCENT
from app.widgets.pieces import failure
from app.words.choices import chosen, degrees, degrees_unit, spans
from catalog.errors import CatalogError
from catalog.records import Load
from catalog.shown_units import shown_c

if TYPE_CHECKING:
    from catalog.firing.log_csv import LogImport

__all__ = ["draw_firing"]

LABELS_PX = (0, 84, 168, 252, 336, 420)
"""Cones of one load lie within a few degrees: their names stand side by side."""

PLAN, OTHERS, GRID = "#8a8378", "#b5a894", "rgba(110,98,84,0.2)"


def draw_firing(load: Load, log: LogImport | None) -> None:
    """Draw a load's plan and log."""
    import plotly.graph_objects as go

    from catalog.firing.plot_data import firing_plot

    try:
        plot = firing_plot(load, log)
    except CatalogError as error:
        failure(error)
        return
    unit = chosen().temperature
    figure = go.Figure()
    for curve in plot.others:
        figure.add_scatter(
            x=curve.time_h,
            y=[shown_c(each, unit) for each in curve.temperature_c],
            name=f"also logged: {curve.name}",
            mode="lines",
            line={"color": OTHERS, "width": 1},
        )
    if plot.plan is not None:
        figure.add_scatter(
            x=plot.plan.time_h,
            y=[shown_c(each, unit) for each in plot.plan.temperature_c],
            name="as planned",
            mode="lines",
            line={"color": PLAN, "dash": "dash", "width": 2},
        )
    if plot.log is not None:
        figure.add_scatter(
            x=plot.log.time_h,
            y=[shown_c(each, unit) for each in plot.log.temperature_c],
            name="as logged",
            mode="lines",
            line={"color": ACCENT, "width": 2.5},
        )
    if plot.last_100 is not None:
        figure.add_scatter(
            x=plot.last_100.time_h,
            y=[shown_c(each, unit) for each in plot.last_100.temperature_c],
            name=spans(plot.last_100.name),
            mode="lines",
            line={"color": "#c2410c", "width": 6},
            opacity=0.45,
        )
    for mark in plot.inversions:
        figure.add_hline(
            y=shown_c(mark.temperature_c, unit),
            line={"color": GRID, "width": 1.5, "dash": "dot"},
            annotation_text=f"{degrees(mark.temperature_c)} {mark.name}",
            annotation_position="top right",
            annotation_font_size=11,
        )
    highest_c = max((mark.temperature_c for mark in plot.cones), default=0.0)
    for mark, left_px in zip(plot.cones, LABELS_PX, strict=False):
        figure.add_hline(
            y=shown_c(mark.temperature_c, unit),
            line={"color": ACCENT, "width": 1},
            annotation_text=mark.name,
            annotation_position="bottom left" if mark.temperature_c < highest_c else "top left",
            annotation_xshift=left_px,
            annotation_font_size=11,
        )
    figure.update_layout(
        height=400,
        margin={"l": 55, "r": 10, "t": 10, "b": 40},
        paper_bgcolor="rgba(0,0,0,0)",
        plot_bgcolor="rgba(0,0,0,0)",
        legend={"orientation": "h", "y": -0.16},
        hovermode="x unified",
        xaxis={"title": "hours", "gridcolor": GRID, "zeroline": False, "hoverformat": ".1f"},
        yaxis={"title": degrees_unit(), "gridcolor": GRID, "zeroline": False, "hoverformat": ".0f"},
    )
    st.plotly_chart(figure, config={"displayModeBar": False})
