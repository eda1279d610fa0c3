"""What a view was asked, kept in the page's address: whoever opens that address sees the same.

Streamlit can bind a widget to the address itself, but then refuses to leave the view by a choice on a board;
and what is worked out of several widgets, such as a palette, is one word of the address.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import TypeVar

import streamlit as st

from app import state

__all__ = ["ask", "first", "tell"]

_T = TypeVar("_T")


def ask(name: str, default: _T, read: Callable[[str], _T] | None = None) -> _T:
    """Give what the address says under `name`, else what was told last, else `default`.

    Parameters
    ----------
    read : makes the value of the address' text; a ValueError means that the address is passed over. None
        takes the text as it is
    """
    text = st.query_params.get(name)
    if text is not None:
        try:
            return text if read is None else read(text)  # type: ignore[return-value]
        except ValueError:
            pass
    return state.remembered(f"address_{name}", default)


def first(key: str, value: object, options: Collection[object] | None = None) -> None:
    """Give the widget under `key` its first value, unless it has one; one that is no option becomes None."""
    if key not in st.session_state:
        st.session_state[key] = value if options is None or value in options else None


def tell(name: str, value: object, words: str | None) -> None:
    """Keep `value` and write `words` for it into the address; None takes it out."""
    state.remember(f"address_{name}", value)
    if words is None:
        st.query_params.pop(name, None)
    elif st.query_params.get(name) != words:
        st.query_params[name] = words
