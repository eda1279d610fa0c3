"""Causes on the screen: cautions, ranked bars with evidence and counts, a person's word on each."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import streamlit as st

from app.cache import catalogue
from app.services.causes import keep_word
from app.theme import ACCENT
from app.widgets.allowed import may
from app.widgets.markup import bar_row, facts_table, plain, stop_box
from app.widgets.pieces import failure
from app.words.causes import ORIGINS, VERDICT_WORDS, clause, sentence
from app.words.choices import temperatures
from app.words.measures import without_keys
from catalog.causes.diagnosis import Diagnosis, EvidenceLine, RankedCause
from catalog.causes.vocabulary import field
from catalog.errors import CatalogError

if TYPE_CHECKING:
    from catalog.casebook.case import Case

__all__ = ["cause_list", "cautions", "facts_known", "likeness_line"]

_FIRST = 5
_UNKNOWN_SHOWN = 5


def cautions(diagnosis: Diagnosis) -> None:
    """Show what must be said before anything else; the first in full, the rest one touch away."""
    if not diagnosis.cautions:
        return
    first, *rest = diagnosis.cautions
    st.html(stop_box(first))
    if rest:
        with st.expander(f"{len(rest)} more cautions"):
            st.html("".join(f'<p class="gb-small">{escape(words)}</p>' for words in rest))


def cause_list(case: Case) -> None:
    """Show the causes, likeliest first, each with its evidence and what this studio has counted."""
    diagnosis = case.diagnosis
    st.caption("Of 100 cases like this in a small set, by judgement: a place to start, not a proof.")
    for note in diagnosis.notes:
        st.write(plain(without_keys(note)))
    for number, cause in enumerate(diagnosis.causes[:_FIRST]):
        _cause(case, cause, opened=number == 0)
    if len(diagnosis.causes) > _FIRST:
        with st.expander(f"{len(diagnosis.causes) - _FIRST} less likely causes"):
            for cause in diagnosis.causes[_FIRST:]:
                _cause(case, cause, opened=False)
    for pair in diagnosis.pairs[:2]:
        st.html(
            f'<p class="gb-small"><b>Two together:</b> {escape(pair.title)} '
            f"({pair.probability * 100:.0f} of 100). {escape(sentence(pair.why) if pair.why else '')}</p>"
        )


def _cause(case: Case, cause: RankedCause, *, opened: bool) -> None:
    with st.container(gap="xxsmall"):
        st.html(bar_row(cause.title, cause.probability, ACCENT))
        told = len(cause.evidence_for), len(cause.evidence_against)
        words = f"{told[0]} for, {told[1]} against, {len(cause.unknown)} not known"
        if cause.here:
            words = f"{cause.here}; {words}"
        with st.expander(words, expanded=opened):
            st.html(f'<p class="gb-small">{escape(temperatures(sentence(cause.mechanism)))}</p>')
            _lines("Speaks for it", cause.evidence_for)
            _lines("Speaks against it", cause.evidence_against)
            _unknown(cause)
            if cause.remedy:
                st.markdown(f"**What helps:** {temperatures(sentence(cause.remedy))}")
            if cause.caution:
                st.markdown(f"**Take care:** {temperatures(sentence(cause.caution))}")
            _word(case, cause)
            st.caption(f"Source of the cause: {cause.source.replace(' | ', '; ')}")


def _lines(title: str, lines: tuple[EvidenceLine, ...]) -> None:
    if not lines:
        return
    st.markdown(f"**{title}**")
    told = []
    for line in lines:
        source = line.source.split(" | ", 1)[0]
        told.append(
            f"<li>{escape(temperatures(without_keys(line.sentence)))} "
            f'<span class="gb-small">· {escape(line.strength)}; {escape(source)}</span></li>'
        )
    st.html(f"<ul>{''.join(told)}</ul>")


def _unknown(cause: RankedCause) -> None:
    if not cause.unknown:
        return
    names = dict.fromkeys(field(key).label for line in cause.unknown for key in line.keys)
    shown = list(names)[:_UNKNOWN_SHOWN]
    more = "" if len(names) <= _UNKNOWN_SHOWN else f", and {len(names) - _UNKNOWN_SHOWN} more"
    st.markdown(f"**Not known:** {temperatures('; '.join(clause(name) for name in shown))}{more}.")


def _word(case: Case, cause: RankedCause) -> None:
    """Offer a person's last word; it is kept with the facts known now and learned from."""
    if cause.pair_id is None or not may("piece", case.piece.id):
        return
    with st.container(horizontal=True, gap="small"):
        for verdict, words in VERDICT_WORDS.items():
            key = f"word_{verdict}_{case.piece.code}_{cause.pair_id}"
            if st.button(words.capitalize(), key=key, type="tertiary"):
                try:
                    keep_word(catalogue(), case, cause.pair_id, verdict)
                except CatalogError as error:
                    failure(error)
                    return
                st.rerun()


def likeness_line(case: Case) -> None:
    """Show what the studio's own confirmed pieces say beside the rules."""
    said = case.likeness()
    if said.disagrees:
        st.html(stop_box(said.text))
    else:
        st.caption(plain(said.text))


def facts_known(diagnosis: Diagnosis) -> None:
    """Show every fact used and where it came from."""
    with st.expander(f"{len(diagnosis.facts)} facts used"):
        rows = [
            (
                temperatures(without_keys(fact.sentence)),
                ORIGINS[str(fact.origin)] + ("" if fact.certainty == 1.0 else ", not quite sure"),
            )
            for fact in diagnosis.facts.values()
        ]
        st.html(facts_table(rows))
