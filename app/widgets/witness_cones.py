"""Cones and bars as they were found: which stood where and how far it leans; the shelf's cone follows."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue
from app.services.firings import shelf_words, witnesses_of
from app.widgets.allowed import may
from app.widgets.load_form import CONES, SHELVES
from app.widgets.markup import plain
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.firing.bend import POSITIONS
from catalog.records import Load

__all__ = ["witness_cones"]


def witness_cones(load: Load) -> None:
    """Show the cones as found, to keep and correct."""
    import pandas as pd

    kept = catalogue().workshop.witnesses(load.id)
    locked = not may("load", load.id)
    if locked and not kept:
        return
    with st.expander("Read them off how far they lean", expanded=bool(kept)):
        st.caption(
            "A cone is set leaning 8° from upright; at its end point the tip is level with its foot, 90°. "
            "One half over says more than one gone flat. A typed angle counts before the word."
        )
        words = {angle: word for word, angle in POSITIONS.items()}
        typed = [None if r.angle_deg in words else r.angle_deg for r in kept]
        rows = [
            (r.shelf, r.form, r.cone, words.get(r.angle_deg), angle)
            for r, angle in zip(kept, typed, strict=True)
        ]
        frame = pd.DataFrame(rows, columns=["shelf", "form", "cone", "position", "angle_deg"])
        frame = frame.astype({"angle_deg": float, **dict.fromkeys(("shelf", "form", "cone"), object)})
        column = st.column_config
        edited = st.data_editor(
            frame,
            num_rows="dynamic",
            hide_index=True,
            key=f"witness_{load.id}",
            placeholder="–",
            disabled=locked,
            column_config={
                "shelf": column.SelectboxColumn("Shelf", options=list(SHELVES), required=True, width=85),
                "form": column.SelectboxColumn("Kind", options=["cone", "bar"], default="cone", width=80),
                "cone": column.SelectboxColumn("Cone", options=list(CONES), required=True, width=80),
                "position": column.SelectboxColumn("It is", options=list(POSITIONS), width=125),
                "angle_deg": column.NumberColumn("or °", min_value=0.0, max_value=180.0, width=60),
            },
        )
        try:
            found = witnesses_of(edited.to_dict("records"))
            for said in shelf_words(found, catalogue().workshop.last_rate_c_per_h(load.id)):
                st.write(plain(said))
            if not locked and tuple(found) != kept and st.button("Keep the cones as found"):
                catalogue().workshop.set_witnesses(load.id, found)
                st.rerun()
        except CatalogError as error:
            failure(error)
