"""Causes on the screen: cautions, ranked bars with evidence, next trials, facts, and a question to answer."""

from __future__ import annotations

from html import escape

import streamlit as st

from app.cache import catalogue
from app.services.causes import Question, answer, questions
from app.theme import ACCENT
from app.widgets.markup import bar_row, facts_table, stop_box
from app.widgets.pieces import failure
from app.words.measures import without_keys
from catalog.causes.diagnosis import Diagnosis, EvidenceLine, RankedCause
from catalog.causes.vocabulary import field
from catalog.errors import CatalogError
from catalog.records import FactValue, Piece

__all__ = ["ask_and_answer", "cause_list", "cautions", "facts_known", "trials"]

_FIRST = 6
_UNKNOWN_SHOWN = 5
ORIGINS = {
    "measured": "measured on the photo",
    "computed": "worked out from the recipe",
    "recorded": "from your records",
    "answered": "you said so",
    "inferred": "follows from the rest",
}


def cautions(diagnosis: Diagnosis) -> None:
    """Show what must be said before anything else; the first in full, the rest one touch away."""
    first, *rest = diagnosis.cautions
    st.html(stop_box(first))
    if rest:
        with st.expander(f"{len(rest)} more cautions"):
            st.html("".join(f'<p class="gb-small">{escape(words)}</p>' for words in rest))


def cause_list(diagnosis: Diagnosis) -> None:
    """Show the causes, likeliest first, each with its evidence."""
    st.caption("Of 100 cases like this in a small set, by judgement: a place to start, not a proof.")
    for note in diagnosis.notes:
        st.write(without_keys(note))
    for number, cause in enumerate(diagnosis.causes[:_FIRST]):
        _cause(cause, opened=number == 0)
    if len(diagnosis.causes) > _FIRST:
        with st.expander(f"{len(diagnosis.causes) - _FIRST} less likely causes"):
            for cause in diagnosis.causes[_FIRST:]:
                _cause(cause, opened=False)


def _cause(cause: RankedCause, *, opened: bool) -> None:
    with st.container(gap="xxsmall"):
        _cause_box(cause, opened=opened)


def _cause_box(cause: RankedCause, *, opened: bool) -> None:
    st.html(bar_row(cause.title, cause.probability, ACCENT))
    told = len(cause.evidence_for), len(cause.evidence_against)
    words = f"{told[0]} for, {told[1]} against, {len(cause.unknown)} not known"
    with st.expander(words, expanded=opened):
        st.html(f'<p class="gb-small">{escape(_sentence(cause.mechanism))}</p>')
        _lines("Speaks for it", cause.evidence_for)
        _lines("Speaks against it", cause.evidence_against)
        _unknown(cause)
        if cause.remedy:
            st.markdown(f"**What helps:** {_sentence(cause.remedy)}")
        if cause.caution:
            st.markdown(f"**Take care:** {_sentence(cause.caution)}")
        st.caption(f"Source: {cause.source.replace(' | ', '; ')}")


def _sentence(words: str) -> str:
    trimmed = words.strip().rstrip(".")
    return f"{trimmed[:1].upper()}{trimmed[1:]}."


def _lines(title: str, lines: tuple[EvidenceLine, ...]) -> None:
    if not lines:
        return
    st.markdown(f"**{title}**")
    st.markdown("\n".join(f"- {without_keys(line.sentence)} ({line.strength})" for line in lines))


def _unknown(cause: RankedCause) -> None:
    if not cause.unknown:
        return
    names = dict.fromkeys(field(key).label for line in cause.unknown for key in line.keys)
    shown = list(names)[:_UNKNOWN_SHOWN]
    more = "" if len(names) <= _UNKNOWN_SHOWN else f", and {len(names) - _UNKNOWN_SHOWN} more"
    st.markdown(f"**Not known:** {'; '.join(_lower(name) for name in shown)}{more}.")


def _lower(words: str) -> str:
    return words if words[:2].isupper() else f"{words[:1].lower()}{words[1:]}"


def trials(diagnosis: Diagnosis) -> None:
    """Show the trials that would teach most."""
    if not diagnosis.next_trials:
        st.write("No trial in the list would tell these causes apart. Compare one bad and one good piece.")
        return
    titles = {cause.cause_id: _lower(cause.title) for cause in diagnosis.causes}
    with st.container(horizontal=True, gap="small"):
        for number, trial in enumerate(diagnosis.next_trials, start=1):
            with st.container(border=True, width=345):
                st.markdown(f"**{number}. {_sentence(trial.trial)}**")
                told = "; ".join(titles.get(name, name.replace("_", " ")) for name in trial.separates)
                st.html(
                    f'<span class="gb-line"><b>Tells apart</b> {escape(told)}.</span>'
                    f'<span class="gb-line"><b>Costs</b> {escape(trial.cost)}.</span>'
                    f'<span class="gb-line"><b>Teaches</b> {trial.expected_gain_bits:.2f}, '
                    "where a sure yes or no is 1.</span>"
                )


def facts_known(diagnosis: Diagnosis) -> None:
    """Show every fact used and where it came from."""
    with st.expander(f"{len(diagnosis.facts)} facts used"):
        rows = [(without_keys(fact.sentence), ORIGINS[str(fact.origin)]) for fact in diagnosis.facts.values()]
        st.html(facts_table(rows))


def ask_and_answer(piece: Piece, diagnosis: Diagnosis) -> None:
    """Show the open questions; an answer is kept and the ranking follows."""
    asked = questions(diagnosis)
    with st.container(border=True):
        st.markdown("**Do you know one of these?**")
        labels = {question.fact.label: question for question in asked}
        if not labels:
            st.caption("Nothing more to ask.")
        else:
            label = st.selectbox(
                "What would move the ranking most", list(labels), key=f"ask_{piece.code}_{diagnosis.fault}"
            )
            question = labels[label]
            if question.fact.note:
                st.caption(_sentence(question.fact.note))
            value = _value(question, piece)
            if st.button("Keep this answer", disabled=value is None):
                _keep(piece, question.fact.name, value)
        for key, value in piece.facts.items():
            with st.container(horizontal=True, vertical_alignment="center"):
                st.caption(f"You said: {_lower(field(key).label)}: {_shown(value)}")
                if st.button("Take back", key=f"unsay_{piece.code}_{key}", type="tertiary"):
                    _keep(piece, key, None)


def _value(question: Question, piece: Piece) -> FactValue | None:
    fact = question.fact
    key = f"answer_{piece.code}_{fact.name}"
    match fact.type:
        case "bool":
            said = st.segmented_control("Is it so?", ("yes", "no"), key=key)
            return None if said is None else said == "yes"
        case "class":
            return st.selectbox(
                "Which?",
                fact.allowed,
                index=None,
                placeholder="not known",
                format_func=lambda word: word.replace("_", " "),
                key=key,
            )
        case "cone":
            from app.widgets.load_form import CONES

            return st.selectbox("Which cone?", CONES, index=None, placeholder="not known", key=key)
        case _:
            unit = f" in {fact.unit}" if fact.unit and fact.unit not in ("-", "count") else ""
            return st.number_input(f"How much{unit}?", value=None, placeholder="not known", key=key)


def _shown(value: FactValue) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value).replace("_", " ")


def _keep(piece: Piece, key: str, value: FactValue | None) -> None:
    try:
        answer(catalogue(), piece.code, key, value)
    except CatalogError as error:
        failure(error)
        return
    st.rerun()
