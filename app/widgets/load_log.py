"""The log of a load: dropped in, how it was read said and put right, the file kept as it came."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue
from app.services.firings import column_words
from app.widgets.allowed import may
from app.widgets.markup import plain
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import Load

__all__ = ["load_log"]


def load_log(load: Load) -> None:
    """Show the log kept with a load, or take one."""
    st.subheader("Log as measured")
    kept = catalogue().workshop.log(load.id)
    locked = not may("load", load.id)
    if kept is None and locked:
        st.caption("No log is kept with it.")
        return
    if kept is None:
        given = st.file_uploader(
            "Controller’s or logger’s file", ["csv", "txt", "tsv", "log"], key=f"log_{load.id}"
        )
        if given is None:
            st.caption(
                "Times and temperatures as text, in any usual spelling; °F is turned into °C and said."
            )
            return
        data, name, choice = given.getvalue(), given.name, {}
    else:
        try:
            data = catalogue().workshop.log_bytes(kept)
        except CatalogError as error:
            failure(error)
            return
        name, choice = kept.name, dict(kept.choice)
        st.write(f"{plain(name)} is kept as it came.")
    with st.expander("How it is read", expanded=kept is None):
        chosen = _columns(data, name, choice, f"{load.id}_{name}")
    if chosen is None:
        return
    with st.container(horizontal=True):
        if not locked and (kept is None or chosen != choice) and st.button("Keep this log", type="primary"):
            try:
                catalogue().workshop.keep_log(load.id, data, name, chosen)
            except CatalogError as error:
                failure(error)
                return
            st.rerun()
        if kept is not None:
            st.download_button("The file", data, name)
            if not locked and st.button("Take it off this load", type="tertiary"):
                catalogue().workshop.remove_log(load.id)
                st.rerun()


def _columns(data: bytes, name: str, choice: dict[str, str], key: str) -> dict[str, str] | None:
    """Show how the log is read, and give what a person chose otherwise; None while it cannot be read."""
    from catalog.firing.log_clock import TimeKind
    from catalog.workshop import log_columns_of, read_log_bytes

    try:
        columns = log_columns_of(data, name)
    except CatalogError as error:
        failure(error)
        return None
    kinds = [str(kind) for kind in TimeKind]
    guess = "as guessed"
    asked = {
        "time": ("Time is in", columns),
        "time_kind": ("Time is written as", kinds),
        "temperature": ("Temperature is in", columns),
        "unit": ("Unit", ("C", "F")),
    }
    chosen: dict[str, str] = {}
    with st.container(horizontal=True):
        for field, (label, options) in asked.items():
            held = choice.get(field)
            every = [guess, *options]
            said = st.selectbox(
                label,
                every,
                index=every.index(held) if held in every else 0,
                format_func=lambda word: f"°{word}" if word in ("C", "F") else word,
                key=f"{field}_{key}",
                width=190,
            )
            if said != guess:
                chosen[field] = said
    try:
        log = read_log_bytes(data, name, chosen)
    except CatalogError as error:
        failure(error)
        return None
    st.markdown("\n".join(f"- {plain(words)}" for words in column_words(log)))
    st.caption(f"{log.rows} rows; {len(log.path.time_h)} readings used.")
    return chosen
