"""What this studio has learned: counts, each case undone with one touch, handed to and from other studios."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.causes import import_from_file
from app.widgets.allowed import allowed, may
from app.widgets.markup import plain
from app.widgets.pieces import failure
from app.words.causes import VERDICT_WORDS
from app.words.choices import day_words
from app.words.measures import fault_noun
from catalog.causes.knowledge import causes_of
from catalog.errors import CatalogError

if TYPE_CHECKING:
    from catalog.casebook.case import Case

__all__ = ["learned", "wanted_effects"]

_SHOWN = 20


def learned(case: Case) -> None:
    """Show the outcomes of this fault as counts and one by one."""
    book = catalogue().casebook
    kept = [one for one in book.outcomes() if one.outcome.fault == case.fault]
    total = case.learned.cases(case.fault)
    st.write(
        f"{total} cases of {fault_noun(case.fault)} have a confirmed cause here."
        if total
        else f"No cause of {fault_noun(case.fault)} has been confirmed here yet; the ranking rests on "
        "the judgements that came with this program."
    )
    others = catalogue().not_mine([one.code for one in kept if one.code])
    mine = {one.id for one in kept if (one.code not in others if one.code else may("setting"))}
    titles = {rule.pair_id: rule.cause for rule, _ in causes_of(case.fault)}
    for one in kept[:_SHOWN]:
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            where = one.code or f"from {one.studio}"
            cause = titles.get(one.outcome.pair_id, "something else")
            said = VERDICT_WORDS[one.outcome.verdict]
            st.caption(f"{plain(where)}, {_day(one.outcome.said_on)}: {cause}: {said}")
            if one.id in mine and st.button("Undo", key=f"undo_{one.id}", type="tertiary"):
                book.undo(one.id)
                st.rerun()
    if len(kept) > _SHOWN:
        st.caption(f"And {len(kept) - _SHOWN} more.")
    with st.expander("Hand outcomes to another studio, or take theirs"):
        _exchange(case)


def _exchange(case: Case) -> None:
    book = catalogue().casebook
    told = state.remembered("outcomes_told", "")
    if told:
        st.caption(told)
    name = st.text_input(
        "Name of this studio in what is handed on",
        value=case.ways.studio,
        key="studio_name",
        disabled=not may("setting"),
    )
    if name.strip() and name.strip() != case.ways.studio:
        book.set_ways(replace(case.ways, studio=name))
        st.rerun()
    st.download_button(
        "Hand on the outcomes of this studio",
        book.export_outcomes(),
        file_name="outcomes.json",
        mime="application/json",
    )
    if not allowed("setting"):
        return
    given = st.file_uploader("Outcomes of another studio", type=["json"], key="outcomes_in")
    if given is not None and st.button("Add these outcomes"):
        try:
            added, known = import_from_file(catalogue(), given.getvalue())
        except CatalogError as error:
            failure(error)
            return
        state.remember("outcomes_told", f"{added} added, {known} known already.")
        st.rerun()


def wanted_effects(case: Case) -> None:
    """Ask first whether the effect is wanted: on this piece alone, or of its glaze always."""
    glaze = case.piece.layers[-1].name if case.piece.layers else None
    noun = fault_noun(case.fault)
    if not may("piece", case.piece.id):
        return
    with st.container(horizontal=True, gap="small", vertical_alignment="center"):
        st.caption(f"Wanted: {noun}?")
        if st.button("Wanted on this piece", key=f"wanted_{case.piece.code}", type="tertiary"):
            catalogue().add_judgement(case.piece.code, "fault", case.fault, "intended")
            st.rerun()
        if glaze is None or not may("glaze_effect"):
            return
        effects = catalogue().casebook.glaze_effects(glaze)
        shown = plain(glaze)
        if st.button(f"Always wanted in {shown}", key=f"glaze_wants_{case.piece.code}", type="tertiary"):
            catalogue().casebook.set_glaze_effects(glaze, [*effects, case.fault])
            st.rerun()
        if effects and st.button(f"Nothing is wanted of {shown}", key="glaze_wants_none", type="tertiary"):
            catalogue().casebook.set_glaze_effects(glaze, [])
            st.rerun()


def _day(said_on: str) -> str:
    """Give the day a word was said on; another studio may have written it in its own way."""
    try:
        return day_words(date.fromisoformat(said_on))
    except ValueError:
        return plain(said_on) or "undated"
