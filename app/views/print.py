"""Print: the sheets that a studio needs on paper, all in true millimetres."""

from __future__ import annotations

import streamlit as st

from app import state
from app.widgets.print_card import card
from app.widgets.print_sheets import bucket_labels, care_notes, labels, reports, trial_sheets

SHEETS = {
    "Reference card": card,
    "Labels": labels,
    "Bucket labels": bucket_labels,
    "Care notes": care_notes,
    "Reports": reports,
    "Trial sheet": trial_sheets,
}


def show() -> None:
    """Show the sheets to choose among."""
    st.title("Print")
    names = list(SHEETS)
    kept = st.query_params.get("sheet") or state.remembered("sheet", names[0])
    chosen = st.segmented_control(
        "What to print",
        names,
        default=kept if kept in names else names[0],
        key="sheet_choice",
        label_visibility="collapsed",
    )
    sheet = chosen or names[0]
    state.remember("sheet", sheet)
    st.query_params["sheet"] = sheet
    SHEETS[sheet]()


show()
