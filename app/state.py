"""Session keys as typed getters: what must outlive a change of view stands here and nowhere else.

Streamlit drops a widget's value when its view is left; values under these keys stay.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar, cast

import streamlit as st

from app.services.reading import ReadItem
from app.services.unloading import Row, new_rows

__all__ = ["Unloading", "choose_piece", "chosen_piece", "remember", "remembered", "unloading"]

_T = TypeVar("_T")


@dataclass(slots=True)
class Unloading:
    """One unloading in progress: what was read and not yet filed.

    Attributes
    ----------
    load_id : the load chosen for these photos
    items : photos read in this session, by digest, in the order given
    rows : the table as last set; `edited` is the same with what a person typed since
    table_round : changes when the table is set anew, so that its editor starts afresh
    upload_round : changes when the upload field is to be emptied
    told : sentences about what was filed last
    """

    load_id: int | None = None
    items: dict[str, ReadItem] = field(default_factory=dict)
    rows: list[Row] = field(default_factory=list)
    edited: list[Row] = field(default_factory=list)
    table_round: int = 0
    upload_round: int = 0
    told: list[str] = field(default_factory=list)

    def set_rows(self, rows: list[Row]) -> None:
        """Set the table anew, its photos numbered as they stand."""
        numbers = {digest: number for number, digest in enumerate(self.items, start=1)}
        self.rows = [{**row, "photo": numbers[row["digest"]]} for row in rows if row["digest"] in numbers]
        self.edited = self.rows
        self.table_round += 1

    def take(self, item: ReadItem) -> None:
        """Add a photo; one that is here already is read anew, its pieces' rows with it."""
        kept = [row for row in self.edited if row["digest"] != item.sha256]
        self.items[item.sha256] = item
        self.set_rows([*kept, *new_rows(item)])

    def drop(self, digest: str) -> None:
        """Take a photo out, filed or left out."""
        self.items.pop(digest, None)
        self.set_rows(self.edited)


def _kept(key: str, make: Callable[[], _T]) -> _T:
    if key not in st.session_state:
        st.session_state[key] = make()
    return cast(_T, st.session_state[key])


def unloading() -> Unloading:
    """Give the unloading in progress."""
    return _kept("gb_unloading", Unloading)


def chosen_piece() -> str | None:
    """Give the code of the piece that Shelf and Why look at."""
    return cast("str | None", st.session_state.get("gb_piece"))


def choose_piece(code: str | None) -> None:
    """Set the piece that Shelf and Why look at."""
    st.session_state["gb_piece"] = code
    if code is None and "piece" in st.query_params:
        del st.query_params["piece"]


def remembered(key: str, default: _T) -> _T:
    """Give a kept value of a view, `default` if there is none."""
    return cast(_T, st.session_state.get(f"gb_kept_{key}", default))


def remember(key: str, value: object) -> None:
    """Keep a value of a view."""
    st.session_state[f"gb_kept_{key}"] = value
