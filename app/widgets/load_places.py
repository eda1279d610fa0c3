"""The plan of a load: which piece stands on which shelf and side; before the firing or after."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue
from app.services.places import changed_places, plan_rows, shelves_of
from app.widgets.allowed import may, mine_of
from app.widgets.bench_load import load_warnings
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import Load
from catalog.ware.holders import SIDES

__all__ = ["load_places"]


def load_places(load: Load) -> None:
    """Show where each piece of a load stands, to say or correct."""
    import pandas as pd

    catalog = catalogue()
    pieces = catalog.pieces(load_id=load.id, order="code")
    st.subheader("Where each piece stands")
    if not pieces:
        st.write("No piece is in this load yet. They come in under Unload, or with their load on the Shelf.")
        return
    if not any(piece.readings for piece in pieces):
        load_warnings(pieces)
    rows = plan_rows(pieces, catalog.ware.sides([piece.code for piece in pieces]))
    column = st.column_config
    edited = st.data_editor(
        pd.DataFrame(rows, dtype=object),
        hide_index=True,
        key=f"places_{load.id}_{len(rows)}",
        placeholder="–",
        disabled=["code", "what"] if may("piece") else True,
        column_config={
            "code": column.TextColumn("Piece"),
            "what": column.TextColumn("Glaze and clay"),
            "shelf": column.SelectboxColumn("Shelf", options=shelves_of(load, pieces)),
            "side": column.SelectboxColumn("Side, seen from the door", options=list(SIDES)),
        },
    )
    if not may("piece"):
        return
    changed = changed_places(rows, edited.to_dict("records"))
    if len(mine_of(list(changed))) < len(changed):
        return
    words = "Keep where it stands" if len(changed) == 1 else f"Keep {len(changed)} places"
    if st.button(words if changed else "Keep the places", disabled=not changed, key=f"keep_places_{load.id}"):
        try:
            catalog.ware.set_places(changed)
        except CatalogError as error:
            failure(error)
            return
        st.rerun()
    st.caption("One place a piece: a hot corner shows only over many loads, and only where places were said.")
