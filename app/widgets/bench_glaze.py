"""Glaze: pieces glazed now from one bucket, everything as the last time unless it is changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.bench import glazing_rows, last_body, waiting_codes
from app.services.printing import piece_label
from app.services.reading import PHOTO_ENDINGS
from app.sheets.labels import GRIDS, labels_pdf
from app.widgets.allowed import allowed, may
from app.widgets.bench_buckets import new_bucket, weigh
from app.widgets.bench_layers import layer_fields, layers_under
from app.widgets.bench_load import load_warnings
from app.widgets.bench_pieces import codes_field, empty_codes, label_photo, new_pieces_fields
from app.widgets.markup import note, plain
from app.widgets.pieces import failure
from app.widgets.thickness import length_field
from app.words.bench import PRACTICE, bucket_words, glazing_words, pieces_words, said_words
from app.words.choices import date_pattern
from catalog.bench.codes import codes_in_short
from catalog.bench.records import Bucket, Glazing, GlazingDraft
from catalog.errors import CatalogError

__all__ = ["glaze"]

_NEW, _CODES, _WAITING = "New pieces", "By code", "Those bisqued"
_YES_NO = ("yes", "no")
_PILLS = {
    "overlap": "Layers overlap in part",
    "catch": "On a catch plate",
    "touches": "Glazed where pieces touch",
}


@dataclass(frozen=True, slots=True)
class _Which:
    """Pieces chosen: codes, or how many new ones of which kind and clay."""

    codes: tuple[str, ...] = ()
    new: int = 0
    kind: str = "tile"
    body_id: int | None = None

    @property
    def count(self) -> int:
        return len(self.codes) + self.new


def glaze() -> None:
    """Show the card for pieces glazed now."""
    bench = catalogue().bench
    if not allowed("piece"):
        _glazed_lately()
        return
    found = bench.buckets()
    if not found:
        st.write("No bucket is kept yet. Say what is in the first one; its label goes on the tub.")
        new_bucket("first")
        return
    _done()
    top = st.container()
    coat, which_side = st.columns([3, 2], gap="large")
    with coat:
        bucket = _bucket(found)
        last = bench.last_glazing(bucket.code)
        key = f"glaze_{bucket.code}_{0 if last is None else last.id}"
        outer = layer_fields(bucket, last.layers[-1] if last is not None else None, key)
        under = layers_under(found, last, key)
        said = _said(last, key)
        st.caption(f"No glaze on the foot, nor where pieces touch. {PRACTICE}")
    with which_side:
        which = _which(last, key)
        more = _more(last, key)
        words = f"Keep: {pieces_words(which.count)} glazed" if which.count else "Keep"
        below = st.button(words, type="primary", disabled=not which.count, key="glaze_keep")
    with top:
        above = last is not None and _as_before(last, words, disabled=not which.count)
    if below or above:
        _keep(
            GlazingDraft(
                layers=(*under, outer),
                codes=which.codes,
                new=which.new,
                kind=which.kind,
                body_id=which.body_id,
                **said,
                **more,
            )
        )
    _lately()


def _as_before(last: Glazing, words: str, *, disabled: bool) -> bool:
    """Say how it was done the last time, with the button that keeps the same again."""
    usual = said_words(last)
    told = f"As the last time: {glazing_words(last)}{f'; {usual}' if usual else ''}."
    st.write(plain(told) + " Change below what is different.")
    return st.button(words, type="primary", disabled=disabled, key="glaze_keep_above")


def _lately() -> None:
    folded = st.expander("Glazed lately", on_change="rerun", key="glazed_lately")
    if folded.open:
        with folded:
            _glazed_lately()


def _glazed_lately() -> None:
    rows = glazing_rows(catalogue().bench.glazings(limit=12))
    if rows:
        st.dataframe(rows, hide_index=True)
    else:
        st.write("Nothing glazed is kept here yet.")


def _bucket(found: Sequence[Bucket]) -> Bucket:
    """Choose the bucket: the last one used, another, or the one whose label is in a photo."""
    codes = {each.code: each for each in found}
    last = catalogue().bench.last_glazing()
    usual = next((each.code for each in found if each.kind == "glaze"), None)
    if last is not None and last.layers[-1].bucket is not None:
        usual = last.layers[-1].bucket
    kept = state.remembered("glaze_bucket", usual)
    names = list(codes)
    code = st.selectbox(
        "Bucket",
        names,
        index=names.index(kept) if kept in codes else 0,
        format_func=lambda each: bucket_words(codes[each]),
        key=f"glaze_bucket_{state.remembered('glaze_bucket_round', 0)}",
        width=420,
    )
    state.remember("glaze_bucket", code)
    folded = st.expander(
        "Read its label, weigh it, or make a new one", on_change="rerun", key="glaze_bucket_more"
    )
    if not folded.open:  # folded, its fields would only slow every touch
        return codes[code]
    with folded:
        label_photo("Photo of the label on the bucket", "bucket_label", _take_bucket)
        st.subheader("Weigh it")
        weigh(codes[code], "glaze_weigh")
        st.subheader("A new one")
        new_bucket("glaze_new", _choose)
    return codes[code]


def _choose(code: str) -> None:
    state.remember("glaze_bucket", code)
    state.remember("glaze_bucket_round", state.remembered("glaze_bucket_round", 0) + 1)


def _take_bucket(texts: tuple[str, ...]) -> None:
    for text in texts:
        try:
            _choose(catalogue().bench.bucket(text).code)
        except CatalogError:
            continue
        return
    state.remember("bench_trouble", f"The label says {texts[0]}, and no bucket is kept as that.")


def _said(last: Glazing | None, key: str) -> dict[str, Any]:
    """Ask what was wiped and what overlaps; what is not chosen is not said."""
    said: dict[str, Any] = {}
    with st.container(horizontal=True):
        for name, words in (("foot_wiped", "Foot wiped"), ("bisque_wiped", "Bisque wiped before")):
            was = None if last is None else getattr(last, name)
            chosen = st.segmented_control(
                words,
                _YES_NO,
                default=None if was is None else _YES_NO[0 if was else 1],
                key=f"{key}_{name}",
            )
            said[name] = None if chosen is None else chosen == _YES_NO[0]
    marked = st.pills(
        "Also",
        list(_PILLS),
        selection_mode="multi",
        default=[name for name in _PILLS if last is not None and getattr(last, name)],
        format_func=_PILLS.__getitem__,
        key=f"{key}_also",
        wrap=True,
    )
    return said | {name: True if name in marked else None for name in _PILLS}


def _more(last: Glazing | None, key: str) -> dict[str, Any]:
    """Ask for what is seldom said: the bare band, the raw coat's photo, another day, words."""
    today = datetime.now(UTC).date()
    with st.expander("Raw coat's photo, bare band, another day"):
        photo = st.file_uploader("One photo of the raw coat", PHOTO_ENDINGS, key=f"{key}_photo")
        with st.container(horizontal=True):
            gap = length_field(
                "Bare above the foot",
                100.0,
                None if last is None else last.foot_gap_mm,
                key=f"{key}_gap",
                step_mm=1.0,
                width=180,
            )
            day = st.date_input(
                "Glazed on", today, max_value=today, format=date_pattern(), key=f"{key}_day", width=160
            )
        words = st.text_input("In your own words", "", key=f"{key}_words")
    told: dict[str, object] = {
        "foot_gap_mm": gap,
        "on": day if isinstance(day, date) else today,
        "note": words,
    }
    if photo is not None:
        told |= {"photo": photo.getvalue(), "photo_name": photo.name}
    return told


def _which(last: Glazing | None, key: str) -> _Which:
    """Ask which pieces: new ones, by code, or those that wait."""
    ways = (_NEW, _CODES, _WAITING)
    way = st.segmented_control(
        "Pieces", ways, required=True, default=state.remembered("glaze_way", _NEW), key="glaze_way_field"
    )
    state.remember("glaze_way", way)
    if way == _CODES:
        return _Which(codes_field("glaze"))
    if way == _WAITING:
        return _Which(_waiting(key))
    count, kind = 20, "tile"
    if last is not None and last.codes:
        count, kind = len(last.codes), catalogue().piece(last.codes[0]).kind
    return _Which((), *new_pieces_fields(key, count, kind, last_body(catalogue(), last)))


def _waiting(key: str) -> tuple[str, ...]:
    codes = waiting_codes(catalogue())
    if not codes:
        st.write("No piece is said to be bisqued. Say so under Stages, or give their codes.")
        return ()
    leave = st.multiselect(
        f"{pieces_words(len(codes))} bisqued; leave out", codes, placeholder="none", key=f"{key}_without"
    )
    return tuple(code for code in codes if code not in leave)


def _keep(draft: GlazingDraft) -> None:
    try:
        done = catalogue().bench.glaze(draft)
    except CatalogError as error:
        failure(error)
        return
    state.remember("glaze_done", done.id)
    empty_codes("glaze")
    st.rerun()


def _done() -> None:
    """Show what was kept last in this sitting, with what to look at, its labels, and the way back."""
    trouble = state.remembered("bench_trouble", "")
    if trouble:
        st.html(note(trouble))
        state.remember("bench_trouble", "")
    back = state.remembered("glaze_back", ())
    if back:
        st.html(note(f"Taken back: {pieces_words(len(back))}, {codes_in_short(back)}."))
        state.remember("glaze_back", ())
    catalog = catalogue()
    done = catalog.bench.last_glazing()
    if done is None or state.remembered("glaze_done", None) != done.id:
        return
    with st.container(border=True):
        st.write(
            plain(
                f"{pieces_words(len(done.codes))} kept as glazed: {codes_in_short(done.codes)}. "
                f"{glazing_words(done)}."
            )
        )
        pieces = catalog.pieces(codes=done.codes, order="code")
        load_warnings(pieces)
        with st.container(horizontal=True):
            if may("glazing", done.id) and st.button("Undo", icon=":material/undo:", key="glaze_undo"):
                _undo(done.id)
            st.download_button(
                "Their labels (PDF)",
                lambda: labels_pdf([piece_label(piece) for piece in pieces], GRIDS["tile strips"]),
                "glostbook-labels.pdf",
                "application/pdf",
                icon=":material/download:",
            )


def _undo(glazing_id: int) -> None:
    try:
        state.remember("glaze_back", catalogue().bench.undo_glazing(glazing_id))
    except CatalogError as error:
        failure(error)
        return
    state.remember("glaze_done", None)
    st.rerun()
