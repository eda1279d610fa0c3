"""The plan of a load as a table, typed in °C or °F and kept in °C."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.firings import schedule_of, schedule_rows
from app.widgets.allowed import may
from app.widgets.pieces import failure
from app.words.choices import chosen
from catalog.errors import CatalogError
from catalog.records import Load

__all__ = ["load_plan"]


def load_plan(load: Load) -> None:
    """Show the planned schedule to edit."""
    import pandas as pd

    st.subheader("Schedule as planned")
    units = ("C", "F")
    kept = state.remembered("unit", chosen().temperature)
    unit = st.segmented_control(
        "Typed in", units, default=kept, format_func=lambda letter: f"°{letter}", key=f"unit_{load.id}"
    )
    unit = unit or "C"
    state.remember("unit", unit)
    frame = pd.DataFrame(schedule_rows(load, unit), columns=["rate", "target", "hold_min"], dtype=float)
    column = st.column_config
    edited = st.data_editor(
        frame,
        num_rows="dynamic",
        hide_index=True,
        key=f"schedule_{load.id}_{unit}",
        placeholder="–",
        disabled=not may("load", load.id),
        column_config={
            "rate": column.NumberColumn(f"°{unit} per hour", required=True),
            "target": column.NumberColumn(f"to °{unit}", required=True),
            "hold_min": column.NumberColumn("hold, minutes", default=0.0),
        },
    )
    if may("load", load.id) and st.button("Keep the schedule"):
        try:
            wanted = schedule_of(edited.to_dict("records"), unit)
            catalogue().update_load(load.id, schedule=wanted)
        except CatalogError as error:
            failure(error)
            return
        st.rerun()
    if unit == "F":
        st.caption("Kept in °C.")
