"""Layers of one glazing: the outermost from the bucket chosen, others under it."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app import state
from app.widgets.markup import plain
from app.words.bench import METHOD_WORDS, PRACTICE, bucket_words, coat_words, layer_practice
from catalog.bench.records import Bucket, Glazing, GlazingLayer, LayerDraft

__all__ = ["layer_fields", "layers_under"]

_MOST_UNDER = 5


def layer_fields(bucket: Bucket, was: GlazingLayer | None, key: str) -> LayerDraft:
    """Ask how one layer was put on: method, seconds or coats."""
    methods = list(METHOD_WORDS)
    usual = "brush" if bucket.kind != "glaze" else "dip"
    kept = usual if was is None or was.method is None else was.method
    with st.container(horizontal=True):
        method = st.segmented_control(
            "How", methods, default=kept, format_func=METHOD_WORDS.__getitem__, key=f"{key}_method"
        )
        coats = st.number_input(
            "Coats",
            1,
            20,
            (3 if bucket.kind == "underglaze" else 1) if was is None or was.coats is None else was.coats,
            key=f"{key}_coats",
            width=120,
        )
        seconds = None
        if method in ("dip", "pour"):
            seconds = st.number_input(
                "Seconds",
                0.0,
                600.0,
                None if was is None else was.seconds,
                0.5,
                "%.1f",
                key=f"{key}_seconds",
                width=120,
                placeholder="not said",
            )
    usual_words = layer_practice(bucket.kind, method, int(coats))
    if usual_words is not None:
        st.caption(f"{usual_words} {PRACTICE}")
    return LayerDraft(bucket.code, method, int(coats), seconds)


def layers_under(found: Sequence[Bucket], last: Glazing | None, key: str) -> tuple[LayerDraft, ...]:
    """Ask for the layers under the outermost, from the clay outward; those of the last time stand there."""
    codes = {each.code: each for each in found}
    was = [] if last is None else [each for each in last.layers[:-1] if each.bucket in codes]
    count = state.remembered(f"{key}_under", len(was))
    told = "; ".join(coat_words(each) for each in was) if count == len(was) else f"layers: {count}"
    title = f"Under it: {plain(told) or 'nothing'}"
    drafts = []
    with st.expander(title, expanded=bool(count) and count != len(was), key=f"{key}_under_box"):
        for number in range(count):
            before = was[number] if number < len(was) else None
            names = list(codes)
            first = before.bucket if before is not None else _colour(found)
            code = st.selectbox(
                f"Layer {number + 1}, from the clay outward",
                names,
                index=names.index(first) if first in codes else 0,
                format_func=lambda each: bucket_words(codes[each]),
                key=f"{key}_under_{number}",
                width=420,
            )
            drafts.append(layer_fields(codes[code], before, f"{key}_under_{number}_{code}"))
        with st.container(horizontal=True):
            if count < _MOST_UNDER and st.button("Add a layer under it", key=f"{key}_under_more"):
                state.remember(f"{key}_under", count + 1)
                st.rerun()
            if count and st.button("Take one out", key=f"{key}_under_less"):
                state.remember(f"{key}_under", count - 1)
                st.rerun()
    return tuple(drafts)


def _colour(found: Sequence[Bucket]) -> str | None:
    return next((each.code for each in found if each.kind == "underglaze"), None)
