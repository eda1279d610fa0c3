"""Bench: before the firing. What was glazed from which bucket, how far each piece is, what to look at."""

from __future__ import annotations

import streamlit as st

from app.address import ask, first, tell
from app.widgets.bench_buckets import buckets
from app.widgets.bench_glaze import glaze
from app.widgets.bench_load import before_loading
from app.widgets.bench_stages import stages

PARTS = {"Glaze": glaze, "Stages": stages, "Buckets": buckets, "Before loading": before_loading}


def show() -> None:
    """Show one part of the Bench."""
    st.title("Bench")
    names = list(PARTS)
    kept = ask("part", names[0])
    first("bench_choice", kept if kept in PARTS else names[0])
    chosen = st.segmented_control(
        "Look at", names, required=True, key="bench_choice", label_visibility="collapsed"
    )
    part = chosen or names[0]
    tell("part", part, part)
    PARTS[part]()


show()
