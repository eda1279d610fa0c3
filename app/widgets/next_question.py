"""The next question: answered with one tap, taken back with one more."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from app.cache import catalogue
from app.services.causes import choices
from app.widgets.allowed import allowed, may
from app.widgets.markup import plain
from app.widgets.pieces import failure
from app.words.causes import clause, sentence
from app.words.choices import degrees, number, rate, temperatures, told_figure, unit_words
from catalog.causes.fact import show_value
from catalog.causes.vocabulary import field, fields
from catalog.errors import CatalogError
from catalog.records import FactValue

if TYPE_CHECKING:
    from catalog.casebook.case import Case
    from catalog.causes.diagnosis import Question

__all__ = ["answers_given", "ask"]

NOBODY = "nobody knows"


def ask(case: Case) -> None:
    """Show the question that would teach most, and the others one touch away."""
    with st.container(border=True):
        st.subheader("Next question")
        if not allowed("piece", case.piece.id):
            return
        questions = case.diagnosis.questions
        if not questions:
            st.caption("No further answer would move the ranking: try something instead.")
            return
        _question(case, questions[0])
        if len(questions) > 1:
            with st.expander("Ask me something else"):
                labels = {question.label: question for question in questions[1:]}
                label = st.selectbox(
                    "Another question",
                    list(labels),
                    format_func=temperatures,
                    key=f"other_{case.piece.code}_{case.fault}",
                )
                _question(case, labels[label])


def _question(case: Case, question: Question) -> None:
    st.markdown(f"**{temperatures(sentence(question.label)).rstrip('.')}?**")
    if question.first_because:
        st.caption(temperatures(sentence(question.first_because)))
    note = field(question.key).note
    if note and note.casefold() != question.label.casefold():
        st.caption(temperatures(sentence(note)))
    offered = choices(question)
    words = [text for _, _, text in offered] + [NOBODY]
    key = f"tap_{case.piece.code}_{question.key}"
    said = st.pills(
        f"Your answer: {question.label}",
        words,
        format_func=temperatures,
        key=key,
        label_visibility="collapsed",
    )
    if said == NOBODY:
        _keep(case, question.key, None)
    elif said is not None:
        fact, value, _ = offered[words.index(said)]
        _keep(case, fact, value)
    if field(question.key).type in ("number", "ratio", "fraction"):
        _figure(case, question)
    st.caption(
        f"Worth {number(question.expected_gain_bits, 2)} of a sure yes or no, "
        f"about {question.minutes:.0f} min."
    )


def _figure(case: Case, question: Question) -> None:
    unit = field(question.key).unit
    label = f"Or the figure{f' in {unit_words(unit)}' if unit and unit not in ('-', 'count') else ''}"
    figure = st.number_input(
        label, value=None, placeholder="not measured", key=f"figure_{case.piece.code}_{question.key}"
    )
    if figure is not None:
        _keep(case, question.key, told_figure(float(figure), unit))


def answers_given(case: Case) -> None:
    """Show what a person said, each taken back with one touch."""
    kept = {key: (value, 1.0) for key, value in case.piece.facts.items() if key in fields()}
    kept |= {a.fact: (a.value, a.certainty) for a in case.answers if a.value is not None}
    unknown = [answer.fact for answer in case.answers if answer.value is None]
    for key, (value, sure) in kept.items():
        doubt = "" if sure == 1.0 else ", not sure"
        _line(case, key, f"{_about(key)}: {_value_words(key, value)}{doubt}", sure)
    for key in unknown:
        _line(case, key, f"{_about(key)}: nobody knows", None)


def _about(key: str) -> str:
    return temperatures(clause(field(key).label))


def _value_words(key: str, value: FactValue) -> str:
    unit = field(key).unit
    if isinstance(value, float) and unit in ("°C", "°C/h"):
        return degrees(value) if unit == "°C" else rate(value)
    return show_value(key, value)


def _line(case: Case, key: str, words: str, sure: float | None) -> None:
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        mine = may("piece", case.piece.id)
        st.caption(f"{'You said' if mine else 'Said'}: {plain(words)}")
        if not mine:
            return
        if sure == 1.0 and st.button("Not sure", key=f"doubt_{case.piece.code}_{key}", type="tertiary"):
            value = next((a.value for a in case.answers if a.fact == key), case.piece.facts.get(key))
            _keep(case, key, value, certainty=0.5)
        if st.button("Take back", key=f"unsay_{case.piece.code}_{key}", type="tertiary"):
            catalogue().casebook.take_back(case.piece.code, key)
            st.rerun()


def _keep(case: Case, key: str, value: FactValue | None, *, certainty: float = 1.0) -> None:
    try:
        catalogue().casebook.answer(case.piece.code, key, value, certainty=certainty)
    except CatalogError as error:
        failure(error)
        return
    st.rerun()
