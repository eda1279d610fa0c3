"""Who else shows it: the load as a table, and groups tested over all loads."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import streamlit as st

from app.cache import catalogue
from app.widgets.allowed import may
from app.words.causes import TRAITS
from app.words.choices import number
from app.words.measures import fault_noun

if TYPE_CHECKING:
    from collections.abc import Sequence

    from catalog.casebook.case import Case
    from catalog.causes.exact_test import Tally
    from catalog.causes.load_table import LoadTable

__all__ = ["batches", "load_pieces", "tallies", "who_else"]

_ROW_HEAD = "<th scope='row' style='width:auto;overflow-wrap:normal'>"
_BATCHES = {"bucket": "Bucket of glaze", "clay_lot": "Lot of clay"}


def who_else(case: Case) -> None:
    """Say how many of the load show it and which groups bear a pattern out."""
    table = case.load
    if table is None:
        st.caption("Which load it came from is not said, so nothing can be set beside it.")
    else:
        st.write(
            f"{table.affected} of the {table.seen} pieces of this load that were looked at show "
            f"{fault_noun(case.fault)}."
        )
    tested = [*(table.tallies if table is not None else ()), *case.tallies]
    found = [tally for tally in tested if tally.is_pattern]
    if found:
        tallies(found)
    elif tested:
        st.caption("No group of pieces shows it more than the rest by more than chance would.")
    if tested:
        with st.expander(f"All {len(tested)} counts"):
            if table is not None and table.tallies:
                st.caption("In this load")
                tallies(table.tallies)
            if case.tallies:
                st.caption("Over all loads")
                tallies(case.tallies)
    if table is not None:
        with st.expander("Every piece of the load"):
            load_pieces(table)
    batches(case)


def tallies(found: Sequence[Tally]) -> None:
    """Show groups with their counts and Fisher's exact test."""
    rows = "".join(
        f"<tr>{_ROW_HEAD}{escape(TRAITS[t.trait])}: {escape(t.name)}</th>"
        f"<td>{t.hit} of {t.seen}</td><td>{t.hit_else} of {t.seen_else}</td>"
        f"<td>{number(t.chance * 100, 1)}</td><td>{'<b>yes</b>' if t.is_pattern else 'no'}</td></tr>"
        for t in found
    )
    st.html(_table(("Group", "With it", "Without", "By lot, of 100", "Pattern"), rows))


def load_pieces(table: LoadTable) -> None:
    """Show every piece of a load by shelf, glaze and clay, the affected ones first."""
    said = {True: "<b>shows it</b>", False: "clean", None: "not looked at"}
    rows = "".join(
        f"<tr>{_ROW_HEAD}{escape(row.code)}</th><td>{said[row.shows]}</td><td>{escape(row.shelf)}</td>"
        f"<td>{escape(row.glaze)}</td><td>{escape(row.clay)}</td></tr>"
        for row in table.rows
    )
    st.html(_table(("Piece", "", "Shelf", "Glaze", "Clay"), rows))


def _table(titles: Sequence[str], rows: str) -> str:
    """Give a table of several columns, the first not wider than it must be."""
    style = ' style="width:auto;overflow-wrap:normal"'
    head = "".join(f"<th{style}>{escape(title)}</th>" for title in titles)
    return f'<table class="gb-facts"><tr>{head}</tr>{rows}</table>'.replace("<td>", f"<td{style}>")


def batches(case: Case) -> None:
    """Ask which bucket and lot of clay the piece is of, so that they can be counted over loads."""
    kept = catalogue().casebook.batches(case.piece)
    title = "Bucket and lot of clay: " + (", ".join(kept.values()) or "not said")
    with st.expander(title), st.container(horizontal=True):
        for kind, label in _BATCHES.items():
            given = st.text_input(
                label,
                value=kept.get(kind, ""),
                key=f"batch_{kind}_{case.piece.code}",
                disabled=not may("piece", case.piece.id),
                width=260,
            )
            if given.strip() != kept.get(kind, ""):
                catalogue().casebook.set_batch(case.piece.code, kind, given)
                st.rerun()
