"""How far pieces are: made, drying, bone dry, bisqued, glazed, fired, out; cracks and losses."""

from __future__ import annotations

from datetime import UTC, date, datetime

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.bench import stage_rows
from app.widgets.allowed import allowed
from app.widgets.bench_pieces import codes_field, empty_codes, new_pieces_fields
from app.widgets.markup import facts_table, note, plain
from app.widgets.pieces import failure
from app.words.bench import LOSS_WORDS, STAGE_WORDS, pieces_words
from app.words.choices import date_pattern
from catalog.bench.codes import codes_in_short
from catalog.bench.records import STAGES
from catalog.errors import CatalogError

__all__ = ["stages"]

_STAGE, _NEW, _CRACK, _LOSS = "Reached a stage", "New pieces", "A crack", "Lost"
_KINDS = {_STAGE: "stage", _NEW: "stage", _CRACK: "crack", _LOSS: "loss"}


def stages() -> None:
    """Show who is where, and let it be said anew."""
    progress = catalogue().bench.progress()
    rows = stage_rows(progress.values())
    if rows:
        st.html(
            facts_table(
                [
                    (words.capitalize(), f"{pieces_words(len(codes))}: {codes_in_short(codes)}")
                    for words, codes in rows
                ]
            )
        )
    else:
        st.write("Of no piece it is said yet how far it is.")
    gone = [each for each in progress.values() if each.loss is not None]
    if gone:
        told = [
            (each.code, f"{LOSS_WORDS[each.loss.reason]}, {STAGE_WORDS[each.loss.stage]}")
            for each in gone
            if each.loss is not None
        ]
        with st.expander(f"{pieces_words(len(gone))} lost"):
            st.html(facts_table(told))
    if not allowed("piece"):
        return
    if not rows:
        st.write("Make new ones here, or say it of those you have.")
    done = state.remembered("bench_said", "")
    if done:
        st.html(note(done))
    ways = (_STAGE, _NEW, _CRACK, _LOSS)
    way = st.segmented_control(
        "Say", ways, required=True, default=state.remembered("bench_way", ways[0]), key="bench_way_field"
    )
    state.remember("bench_way", way)
    {_STAGE: _reached, _NEW: _new, _CRACK: _crack, _LOSS: _lost}[way]()
    _undo(_KINDS[way])


def _day() -> date:
    today = datetime.now(UTC).date()
    given = st.date_input("On", today, max_value=today, format=date_pattern(), key="bench_day", width=160)
    return given if isinstance(given, date) else today


def _stage_field(words: str, kept: str, key: str) -> str:
    return st.segmented_control(
        words, STAGES, required=True, default=kept, format_func=STAGE_WORDS.__getitem__, key=key
    )


def _said(words: str) -> None:
    state.remember("bench_said", words)
    empty_codes("stages")
    st.rerun()


def _reached() -> None:
    stage = _stage_field("They are now", state.remembered("bench_stage", "bisqued"), "bench_stage_field")
    state.remember("bench_stage", stage)
    codes = codes_field("stages")
    before = STAGES[max(STAGES.index(stage) - 1, 0)]
    progress = catalogue().bench.progress().values()
    waiting = sorted(each.code for each in progress if each.stage == before and each.loss is None)
    others = catalogue().not_mine(waiting)
    waiting = [code for code in waiting if code not in others]
    day = _day()
    with st.container(horizontal=True):
        if st.button(
            f"Keep: {pieces_words(len(codes))} {STAGE_WORDS[stage]}" if codes else "Keep",
            type="primary",
            disabled=not codes,
        ):
            _keep(tuple(codes), stage, day)
        if (
            waiting
            and before != stage
            and st.button(f"All {len(waiting)} that were {STAGE_WORDS[before]} are {STAGE_WORDS[stage]}")
        ):
            _keep(tuple(waiting), stage, day)


def _keep(codes: tuple[str, ...], stage: str, day: date) -> None:
    try:
        catalogue().bench.set_stage(codes, stage, day)
    except CatalogError as error:
        failure(error)
        return
    _said(f"{pieces_words(len(codes))} {STAGE_WORDS[stage]}: {codes_in_short(codes)}.")


def _new() -> None:
    count, kind, clay = new_pieces_fields("new_pieces")
    stage = _stage_field("They are now", "made", "bench_new_stage")
    day = _day()
    if st.button(f"Make {pieces_words(count)} with codes", type="primary"):
        try:
            codes = catalogue().bench.make_pieces(count, kind=kind, body_id=clay, stage=stage, on=day)
        except CatalogError as error:
            failure(error)
            return
        _said(f"{codes_in_short(codes)} made. Scratch the codes in, or print them: stickers burn.")


def _crack() -> None:
    st.caption("When a crack first showed says more about its cause than its looks do.")
    codes = codes_field("stages")
    stage = _stage_field("First seen when", "out", "bench_crack_stage")
    day = _day()
    words = f"Keep: crack on {pieces_words(len(codes))}" if codes else "Keep"
    if st.button(words, type="primary", disabled=not codes):
        try:
            catalogue().bench.crack_seen(codes, stage, day)
        except CatalogError as error:
            failure(error)
            return
        _said(f"Crack first seen {STAGE_WORDS[stage]}: {codes_in_short(codes)}.")


def _lost() -> None:
    codes = codes_field("stages")
    stage = _stage_field("When", "out", "bench_loss_stage")
    reason = st.selectbox(
        "Why", list(LOSS_WORDS), format_func=LOSS_WORDS.__getitem__, key="bench_loss_reason", width=260
    )
    words = st.text_input(
        "In your own words", "", key=f"bench_loss_note_{state.remembered('stages_round', 0)}"
    )
    day = _day()
    told = f"Keep: {pieces_words(len(codes))} lost" if codes else "Keep"
    if st.button(told, type="primary", disabled=not codes):
        try:
            catalogue().bench.lose(codes, stage, reason, on=day, note=words)
        except CatalogError as error:
            failure(error)
            return
        _said(f"Lost, {LOSS_WORDS[reason]}: {codes_in_short(codes)}. Photograph them before they go.")


def _undo(kind: str) -> None:
    codes = catalogue().bench.last_said(kind)
    if not codes:
        return
    what = {"stage": "stage", "crack": "crack", "loss": "loss"}[kind]
    if st.button(f"Undo the last {what}", help=plain(codes_in_short(codes)), icon=":material/undo:"):
        try:
            back = catalogue().bench.undo(kind)
        except CatalogError as error:
            failure(error)
            return
        _said(f"Taken back: the {what} of {codes_in_short(back)}.")
