"""Session keys as typed getters: what must outlive a change of view stands here and nowhere else.

Streamlit drops a widget's value when its view is left; values under these keys stay.
"""

from __future__ import annotations

from typing import Any, cast

import streamlit as st

__all__ = ["choose_piece", "chosen_piece", "remember", "remembered"]


def chosen_piece() -> str | None:
    """Give the code of the piece that Shelf and Why look at."""
    return cast("str | None", st.session_state.get("gb_piece"))


def choose_piece(code: str | None) -> None:
    """Set the piece that Shelf and Why look at."""
    st.session_state["gb_piece"] = code
    if code is None and "piece" in st.query_params:
        del st.query_params["piece"]


def remembered(key: str, default: object) -> Any:
    """Give a kept value of a view, `default` if there is none."""
    return st.session_state.get(f"gb_kept_{key}", default)


def remember(key: str, value: object) -> None:
    """Keep a value of a view."""
    st.session_state[f"gb_kept_{key}"] = value
