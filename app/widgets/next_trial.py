"""The next trial: a plan to read, tiles to label, and what came out."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

import streamlit as st

from app.cache import catalogue
from app.widgets.allowed import may
from app.widgets.markup import facts_table, plain
from app.widgets.pieces import failure
from app.words.causes import OUTCOME_WORDS, clause, sentence
from app.words.choices import day_words, number, temperatures
from catalog.causes.diagnosis import Diagnosis, Trial
from catalog.errors import CatalogError

if TYPE_CHECKING:
    from catalog.casebook.case import Case
    from catalog.casebook.records import KeptTrial

__all__ = ["shared_kiln", "trials", "trials_under_way"]


def shared_kiln(case: Case) -> None:
    """Ask whether the firing schedule may change; kept for the whole studio."""
    shared = st.toggle(
        "Shared kiln: the schedule stays as it is",
        value=case.ways.shared_kiln,
        key="shared_kiln",
        help="Trials that need another schedule are left out.",
        disabled=not may("setting"),
    )
    if shared != case.ways.shared_kiln:
        catalogue().casebook.set_ways(replace(case.ways, shared_kiln=shared))
        st.rerun()


def trials(case: Case) -> None:
    """Show the trials that would teach most; the first is opened as a plan."""
    diagnosis = case.diagnosis
    planned = {trial.pair_id for trial in case.trials if trial.outcome is None}
    if not diagnosis.next_trials:
        st.write("No trial in the list would tell these causes apart. Compare one bad and one good piece.")
        return
    for place, trial in enumerate(diagnosis.next_trials):
        title = temperatures(sentence(trial.trial)).rstrip(".")
        pair_id = next((c.pair_id for c in diagnosis.causes if c.cause_id == trial.about), None)
        if place == 0:
            with st.container(border=True):
                st.markdown(f"**{title}**")
                _plan(case, diagnosis, trial, waiting=pair_id in planned)
        else:
            with st.expander(title):
                _plan(case, diagnosis, trial, waiting=pair_id in planned)


def _plan(case: Case, diagnosis: Diagnosis, trial: Trial, *, waiting: bool) -> None:
    titles = {cause.cause_id: clause(cause.title) for cause in diagnosis.causes}
    told = "; ".join(titles.get(name, name.replace("_", " ")) for name in trial.separates)
    rows = [("Tells apart", told)]
    if trial.plan is not None:
        plan = trial.plan
        rows += [
            ("Make", "; ".join(plan.pieces)),
            ("Only this differs", plan.differs),
            ("All else alike", plan.alike),
            ("If so", plan.if_so),
            ("If not", plan.if_not),
            ("Prediction now", f"{plan.prediction * 100:.0f} of 100 that it points to this cause"),
        ]
    rows += [
        ("Costs", trial.cost),
        ("Teaches", f"{number(trial.expected_gain_bits, 2)}, where a sure yes or no is 1"),
    ]
    st.html(facts_table([(name, temperatures(words)) for name, words in rows]))
    if waiting:
        st.caption("Planned already: see below.")
    elif may("piece", case.piece.id) and st.button(
        "Plan this trial", key=f"plan_{case.piece.code}_{case.fault}_{trial.about}", type="primary"
    ):
        try:
            catalogue().casebook.plan_trial(case.piece.code, diagnosis, trial.about)
        except CatalogError as error:
            failure(error)
            return
        st.rerun()


def trials_under_way(case: Case) -> None:
    """Show what was planned about this piece and fault, with the prediction, and what came of it."""
    for trial in case.trials:
        with st.container(border=True):
            _under_way(trial, locked=not may("piece", case.piece.id))


def _under_way(trial: KeptTrial, *, locked: bool) -> None:
    st.markdown(f"**Trial {trial.id}: {plain(sentence(trial.plan['trial']))}**")
    planned = day_words(trial.planned_at.date())
    st.caption(
        f"Planned {planned}, before the firing: {trial.prediction * 100:.0f} of 100 that it points there."
    )
    if trial.pieces:
        expected = {True: "expected to show it", False: "expected clean", None: "between, or not known yet"}
        st.html(facts_table([(p.code, f"{p.side}; {expected[p.shows_if_so]}") for p in trial.pieces]))
        st.caption("Write the code on each piece; a photo with that label files itself.")
    who = " (your word)" if trial.said else ""
    told = f" {escape(sentence(trial.told))}" if trial.told else ""
    st.html(f'<p class="gb-say"><b>{escape(OUTCOME_WORDS[trial.outcome])}{who}.</b>{told}</p>')
    if locked:
        return
    with st.container(horizontal=True, gap="small"):
        for said, words in OUTCOME_WORDS.items():
            if (
                said is not None
                and said != trial.outcome
                and st.button(words, key=f"said_{said}_{trial.id}", type="tertiary")
            ):
                catalogue().casebook.say_outcome(trial.id, said)
                st.rerun()
        if trial.said and st.button("Take my word back", key=f"unsaid_{trial.id}", type="tertiary"):
            catalogue().casebook.say_outcome(trial.id, None)
            st.rerun()
        if st.button("Drop this trial", key=f"drop_{trial.id}", type="tertiary"):
            catalogue().casebook.drop_trial(trial.id)
            st.rerun()
