"""Bench: before the firing. What was glazed from which bucket, how far each piece is, what to look at."""

from __future__ import annotations

import streamlit as st

from app import state
from app.widgets.bench_buckets import buckets
from app.widgets.bench_glaze import glaze
from app.widgets.bench_load import before_loading
from app.widgets.bench_stages import stages

PARTS = {"Glaze": glaze, "Stages": stages, "Buckets": buckets, "Before loading": before_loading}


def show() -> None:
    """Show one part of the Bench."""
    st.title("Bench")
    names = list(PARTS)
    kept = state.remembered("bench_part", names[0])
    chosen = st.segmented_control(
        "Look at", names, default=kept, key="bench_choice", label_visibility="collapsed"
    )
    part = chosen or names[0]
    state.remember("bench_part", part)
    PARTS[part]()


show()
