"""What the Bench knows of one piece: how it was glazed, its raw coat, its stages."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue
from app.services.bench import history_rows
from app.services.pictures import shown_photo
from app.widgets.markup import facts_table
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import Piece
from vision.errors import VisionError

__all__ = ["bench_history"]


def bench_history(piece: Piece) -> None:
    """Show it, where anything is known."""
    catalog = catalogue()
    rows = history_rows(catalog, piece)
    if not rows:
        return
    st.subheader("Before the firing")
    st.html(facts_table(rows))
    photos = [each.photo_sha256 for each in catalog.bench.glazings_of(piece.code) if each.photo_sha256]
    for number, sha256 in enumerate(photos, start=1):
        title = "The raw coat" if len(photos) == 1 else f"The raw coat, photo {number}"
        with st.expander(title):
            if not st.toggle("Show the photo", key=f"raw_{piece.code}_{number}"):
                continue
            try:
                shown = shown_photo(catalog, sha256, "the photo of the raw coat")
                st.image(shown, caption="Before the firing, as the phone gave it")
            except (CatalogError, VisionError) as error:
                failure(error)
