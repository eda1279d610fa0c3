"""The one table in which codes, clays, glazes and coats of all pieces are corrected before filing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st

from app import state
from app.cache import catalogue, work_picture
from app.services.studio import METHODS, body_named, latest_glazes
from app.services.unloading import COLUMNS, Row, keep_rows, same_said, table_rows
from app.widgets.load_form import SHELVES
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import PIECE_KINDS
from catalog.unloading.records import UnloadingPhoto

__all__ = ["say_fields", "unload_table"]

_PICTURE_PX = 120


def unload_table(numbered: Sequence[tuple[int, UnloadingPhoto]]) -> None:
    """Show the table; whatever is changed in it is kept at once, also for other windows.

    The editor is given the same rows until something else than itself changes them: it would lose its
    place otherwise.
    """
    fresh = table_rows(
        numbered, lambda photo, index: work_picture(photo.pictures.get(str(index)), _PICTURE_PX)
    )
    turn, base, last = state.remembered("unload_table", (0, [], []))
    if not same_said(last, fresh):
        turn, base, last = turn + 1, fresh, fresh
    edited = _edited(base, f"unload_table_{turn}")
    state.remember("unload_table", (turn, base, edited))
    if not same_said(edited, last) and keep_rows(catalogue(), [photo for _, photo in numbered], edited):
        st.rerun()


def _edited(rows: list[Row], key: str) -> list[Row]:
    import pandas as pd

    catalog = catalogue()
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    frame["coats"] = frame["coats"].astype("Int64")
    config = st.column_config
    edited = st.data_editor(
        frame,
        key=key,
        hide_index=True,
        column_order=COLUMNS[1:],
        disabled=["picture", "photo", "piece"],
        row_height=64,
        height="content",
        placeholder="–",
        column_config={
            "file": config.CheckboxColumn("File", width=70, help="Untick what is no piece"),
            "picture": config.ImageColumn("Piece", width=60),
            "photo": config.NumberColumn("Photo", width=60),
            "piece": config.NumberColumn("No.", width=50),
            "code": config.TextColumn("Code", width=110, help="Left empty, the next free code is given"),
            "kind": config.SelectboxColumn("Kind", options=list(PIECE_KINDS), width=80),
            "body": config.SelectboxColumn(
                "Clay body", options=[body.name for body in catalog.bodies()], width=150
            ),
            "glaze": config.SelectboxColumn("Glaze", options=_glaze_names(), width=150),
            "coats": config.NumberColumn("Coats", min_value=1, max_value=20, step=1, width=70),
            "method": config.SelectboxColumn("Put on by", options=list(METHODS), width=90),
            "shelf": config.SelectboxColumn("Shelf", options=list(SHELVES), width=90),
        },
    )
    records = edited.astype(object).where(edited.notna(), None).to_dict("records")
    return [{str(name): value for name, value in record.items()} for record in records]


def say_fields() -> dict[str, Any] | None:
    """Show what can be said for all pieces at once; gives it when asked to put it in."""
    catalog = catalogue()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        said = {
            "body": st.selectbox(
                "Clay body", [b.name for b in catalog.bodies()], index=None, placeholder="leave", width=190
            ),
            "glaze": st.selectbox("Glaze", _glaze_names(), index=None, placeholder="leave", width=190),
            "coats": st.number_input("Coats", 1, 20, None, placeholder="leave", width=120),
            "method": st.selectbox("Put on by", METHODS, index=None, placeholder="leave", width=120),
            "shelf": st.selectbox("Shelf", SHELVES, index=None, placeholder="leave", width=120),
        }
        asked = st.button("Put in for all")
        with st.popover("New clay or glaze"):
            _new_names()
    return said if asked else None


def _glaze_names() -> list[str]:
    """Give the glazes with a recipe, then those named in this session without one."""
    return list(dict.fromkeys((*latest_glazes(catalogue()), *state.remembered("new_glazes", []))))


def _new_names() -> None:
    with st.form("new_names", border=False, clear_on_submit=True):
        body = st.text_input("A clay body", placeholder="its name")
        glaze = st.text_input("A glaze", placeholder="its name; the recipe can follow under Glazes")
        if not st.form_submit_button("Add"):
            return
    try:
        if body.strip():
            body_named(catalogue(), body)
        if glaze.strip():
            state.remember("new_glazes", [*state.remembered("new_glazes", []), " ".join(glaze.split())])
    except CatalogError as error:
        failure(error)
        return
    st.rerun()
