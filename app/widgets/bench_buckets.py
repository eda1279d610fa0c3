"""Buckets on the screen: those there are, a new one, its weight, its label."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.bench import bucket_rows, kept_bucket_label
from app.sheets.labels import GRIDS, labels_pdf
from app.widgets.allowed import allowed, may
from app.widgets.markup import note, plain
from app.widgets.pieces import failure
from app.words.bench import BUCKET_KIND_WORDS, bucket_words, gravity_words
from app.words.choices import date_pattern, number
from catalog.bench.buckets import gravity_of_100_ml
from catalog.bench.records import Bucket
from catalog.errors import CatalogError

__all__ = ["buckets", "gravity_fields", "new_bucket", "weigh"]

_GRID = "A4, 3 × 8"


def buckets() -> None:
    """Show all buckets, and what can be done with them."""
    found = catalogue().bench.buckets()
    _bring_back()
    if not found:
        st.write("No bucket is kept yet.")
        if allowed("bucket"):
            st.write("Give the first one its code here; its label goes on the tub.")
            new_bucket("buckets")
        return
    st.dataframe(bucket_rows(found), hide_index=True)
    _labels(found)
    if not allowed("bucket"):
        return
    left, right = st.columns(2, gap="large")
    with left:
        st.subheader("Weigh one")
        _weigh(found)
    with right:
        st.subheader("A new one")
        new_bucket("buckets")
    _take_away([each for each in found if may("bucket", each.id)])


def _labels(found: tuple[Bucket, ...]) -> None:
    st.download_button(
        "Labels for all (PDF)" if len(found) > 1 else "Its label (PDF)",
        labels_pdf([kept_bucket_label(each) for each in found], GRIDS[_GRID]),
        "glostbook-buckets.pdf",
        "application/pdf",
        icon=":material/download:",
    )
    st.caption("Other sheets, and only some of the buckets: under Print, Bucket labels.")


def _weigh(found: tuple[Bucket, ...]) -> None:
    codes = {each.code: each for each in found}
    code = st.selectbox(
        "Bucket", list(codes), format_func=lambda each: bucket_words(codes[each]), key="weigh_bucket"
    )
    weigh(codes[code], "weigh")


def weigh(bucket: Bucket, key: str) -> None:
    """Show the fields of a bucket's weight."""
    if not allowed("bucket", bucket.id):
        st.caption(plain(f"{bucket.name}: {gravity_words(bucket.gravity)}"))
        return
    gravity = gravity_fields(f"{key}_{bucket.code}", bucket.gravity)
    same = gravity is None or gravity == bucket.gravity
    if st.button("Keep the weight", disabled=same, key=f"{key}_keep"):
        try:
            catalogue().bench.weigh_bucket(bucket.code, gravity)
        except CatalogError as error:
            failure(error)
            return
        st.rerun()


def gravity_fields(key: str, kept: float | None) -> float | None:
    """Ask for the gravity, or for what 100 ml weigh; gives g/ml."""
    ways = ("100 ml weigh", "Hydrometer")
    usual = state.remembered("gravity_way", ways[0])
    way = st.segmented_control("By", ways, required=True, default=usual, key=f"{key}_way")
    state.remember("gravity_way", way)
    if way == ways[1]:
        typed = st.number_input("Gravity", 1.0, 2.4, kept, 0.01, "%.2f", key=f"{key}_sg", width=160)
        return None if typed is None else round(float(typed), 3)
    grams = st.number_input(
        "Grams, vessel taken off",
        100.0,
        240.0,
        None if kept is None else round(100 * kept, 1),
        1.0,
        "%.1f",
        key=f"{key}_grams",
        width=200,
    )
    if grams is None:
        return None
    gravity = round(gravity_of_100_ml(float(grams)), 3)
    st.caption(f"Gravity {number(gravity, 2)}: the grams of 100 ml, divided by 100.")
    return gravity


def new_bucket(key: str, then: Callable[[str], None] | None = None) -> None:
    """Show the fields of a new bucket; `then` is called with the code of the one made."""
    round_ = state.remembered(f"{key}_made", 0)
    recipes = [recipe.name for recipe in catalogue().recipes()]
    name = st.selectbox(
        "Glaze or colour",
        recipes,
        index=None,
        placeholder="choose, or type a name",
        accept_new_options=True,
        key=f"{key}_name_{round_}",
    )
    kinds = list(BUCKET_KIND_WORDS)
    kind = st.segmented_control(
        "It is a",
        kinds,
        required=True,
        default=kinds[0],
        format_func=BUCKET_KIND_WORDS.__getitem__,
        key=f"{key}_kind_{round_}",
    )
    gravity = gravity_fields(f"{key}_new_{round_}", None)
    with st.container(horizontal=True):
        code = st.text_input(
            "Code", "", placeholder="the next free one", key=f"{key}_code_{round_}", width=180
        )
        mixed = st.date_input(
            "Mixed on", datetime.now(UTC).date(), format=date_pattern(), key=f"{key}_day_{round_}", width=160
        )
    if not st.button("Make this bucket", type="primary", disabled=not name, key=f"{key}_make"):
        return
    try:
        made = catalogue().bench.add_bucket(
            str(name), kind=kind, code=code.strip() or None, mixed_on=mixed, gravity=gravity
        )
    except CatalogError as error:
        failure(error)
        return
    state.remember(f"{key}_made", round_ + 1)
    if then is not None:
        then(made.code)
    st.rerun()


def _bring_back() -> None:
    gone = state.remembered("bucket_gone", None)
    if gone is None:
        return
    st.html(note(f"Bucket {gone} is taken away. What was glazed from it keeps its name."))
    if st.button("Undo: bring it back"):
        _do(catalogue().bench.restore_bucket, gone)
        state.remember("bucket_gone", None)
        st.rerun()


def _take_away(found: Sequence[Bucket]) -> None:
    if not found:
        return
    with st.expander("A bucket is empty or thrown out"):
        code = st.selectbox(
            "Which",
            [each.code for each in found],
            format_func={each.code: bucket_words(each) for each in found}.__getitem__,
            key="bucket_leaves",
        )
        chosen = next(each for each in found if each.code == code)
        st.caption(plain(f"{chosen.name}: {gravity_words(chosen.gravity)}"))
        if st.button("Take it away") and _do(catalogue().bench.remove_bucket, code):
            state.remember("bucket_gone", code)
            st.rerun()


def _do(work: Callable[[str], Bucket], code: str) -> bool:
    try:
        work(code)
    except CatalogError as error:
        failure(error)
        return False
    return True
