"""What a piece may be used for: the statement, its reasons, test results, and pieces to call back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from html import escape
from typing import TYPE_CHECKING

import streamlit as st

from app.cache import catalogue
from app.services.causes import faults_of, keep_leach, use_case
from app.widgets.allowed import allowed, may
from app.widgets.markup import plain, stop_box
from app.widgets.pieces import failure
from app.words.causes import PLACE_WORDS, REGION_WORDS, WARE_WORDS
from app.words.choices import date_pattern, day_words, figure
from app.words.measures import fault_noun
from catalog.causes.knowledge import fault_of
from catalog.errors import CatalogError
from catalog.records import Piece
from catalog.ware.leach import ELEMENTS, UNITS, method_names

if TYPE_CHECKING:
    from catalog.casebook.case import Case, Use

__all__ = ["use_of_piece", "use_of_ware"]

_SISTERS_SHOWN = 12


def use_of_piece(case: Case) -> None:
    """Show the statement of use from the top: statement, reasons, next step, sisters, results."""
    use = use_case(catalogue(), case.piece)
    told = use.statement
    st.html(stop_box(f"{told.use[:1].upper()}{told.use[1:]}."))
    st.html("<ul>" + "".join(f"<li>{escape(reason)}</li>" for reason in told.reasons) + "</ul>")
    st.write(plain(told.next_step))
    _asked(case.piece, [case.fault], use)
    _sisters(use)
    _results(case.piece, use)
    st.caption("Local rules and the law of the place of sale decide; an accredited laboratory measures.")


def use_of_ware(piece: Piece, use: Use) -> None:
    """Show what the statement rests on, to correct: faults with their places, class of ware, results."""
    _asked(piece, faults_of(piece), use)
    _results(piece, use)
    st.caption("Local rules and the law of the place of sale decide; an accredited laboratory measures.")


def _asked(piece: Piece, faults: Sequence[str], use: Use) -> None:
    code = piece.code
    book = catalogue().casebook
    places = {}
    locked = not allowed("piece", piece.id)
    with st.container(horizontal=True):
        for fault in faults:
            places[fault] = st.selectbox(
                f"Where on it: {fault_noun(fault)}",
                list(PLACE_WORDS),
                index=list(PLACE_WORDS).index(use.places.get(fault_of(fault), "unknown")),
                format_func=PLACE_WORDS.__getitem__,
                key=f"place_{code}_{fault}",
                disabled=locked,
                width=220,
            )
        ware = st.selectbox(
            "What is it?",
            list(WARE_WORDS),
            index=list(WARE_WORDS).index(use.ware),
            format_func=WARE_WORDS.__getitem__,
            key=f"ware_{code}",
            disabled=locked,
            width=220,
        )
        region = st.selectbox(
            "Where is it used or sold?",
            list(REGION_WORDS),
            index=list(REGION_WORDS).index(use.region),
            format_func=REGION_WORDS.__getitem__,
            key="region",
            disabled=not may("setting"),
            help=None if may("setting") else "Kept for the whole studio by a keeper",
            width=220,
        )
    for fault, place in places.items():
        if place != use.places.get(fault_of(fault), "unknown"):
            book.set_place(code, fault, place)
            st.rerun()
    if ware != use.ware:
        book.set_ware(code, ware)
        st.rerun()
    if region != use.region:
        book.set_ways(replace(book.ways(), region=region))
        st.rerun()


def _sisters(use: Use) -> None:
    if not use.sisters:
        return
    title = f"{len(use.sisters)} sister pieces" + (
        " to look at or call back" if use.statement.recall else ", if this one has to be called back"
    )
    with st.expander(title, expanded=use.statement.recall):
        for sister in use.sisters[:_SISTERS_SHOWN]:
            st.html(f'<span class="gb-line">{escape(sister.text())}</span>')
        if len(use.sisters) > _SISTERS_SHOWN:
            with st.expander(f"{len(use.sisters) - _SISTERS_SHOWN} more"):
                st.write(plain(", ".join(sister.code for sister in use.sisters[_SISTERS_SHOWN:])))


def _results(piece: Piece, use: Use) -> None:
    with st.expander(f"Laboratory results: {len(use.results)} kept"):
        for result in use.results:
            with st.container(horizontal=True, vertical_alignment="center"):
                less = "less than " if result.below_reporting_limit else ""
                st.caption(
                    f"{result.code}: {result.element} {less}{figure(result.amount)} {result.unit}, "
                    f"{result.method}, {result.laboratory}, {day_words(result.tested_on)}"
                )
                if may("piece", piece.id) and st.button(
                    "Take away", key=f"leach_{result.id}", type="tertiary"
                ):
                    catalogue().casebook.remove_leach(result.id)
                    st.rerun()
        if may("piece", piece.id):
            _form(piece, use)


def _form(piece: Piece, use: Use) -> None:
    with st.form(f"leach_{piece.code}", border=False):
        st.caption("From the report of a test of this very piece:")
        with st.container(horizontal=True):
            element = st.selectbox("Metal", ELEMENTS, width=130)
            amount = st.number_input("Figure", min_value=0.0, value=None, format="%.4f", width=130)
            unit = st.selectbox("Unit", UNITS, width=130)
            below = st.checkbox("The report says “less than”")
        with st.container(horizontal=True):
            method = st.selectbox("Method", method_names(), width=300)
            laboratory = st.text_input("Laboratory", width=220)
            day = st.date_input(
                "Tested on", value=None, max_value=date.today(), format=date_pattern(), width=160
            )
        accredited = st.checkbox("The report says that the laboratory is accredited for this test")
        if not st.form_submit_button("Keep this result"):
            return
    if amount is None or day is None or not laboratory.strip():
        st.caption("Give the figure, the laboratory and the day.")
        return
    try:
        keep_leach(
            catalogue(),
            piece.code,
            element,
            amount,
            unit=unit,
            method=method,
            laboratory=laboratory,
            accredited=accredited,
            tested_on=day,
            below=below,
            ware=use.ware,
            region=use.region,
        )
    except CatalogError as error:
        failure(error)
        return
    st.rerun()
