"""The reference card to download, and how to use it."""

from __future__ import annotations

import streamlit as st

from app import state
from app.sheets.card import CARD_SIZES, card_pdf, card_picture

__all__ = ["card"]

WORDS = {
    "A6": "A6, 148 by 105 mm: for one to four tiles close up. Take this one if unsure.",
    "A5": "A5, 210 by 148 mm: for a whole board of tiles.",
}


def card() -> None:
    """Show the reference card."""
    st.header("Reference card")
    st.html(
        '<p class="gb-lede">The card gives each photo its scale and takes out the colour of the light. '
        "Office printers are no colour standard: with the card alone colours are balanced, with a "
        "24-patch colour chart in the photo as well they are calibrated.</p>"
    )
    words, picture = st.columns([3, 2], gap="large")
    with words:
        size = _choose()
    with picture:
        st.image(card_picture(size), width="stretch", alt=f"the reference card, size {size}")


def _choose() -> str:
    sizes = list(CARD_SIZES)
    kept = state.remembered("card_size", sizes[0])
    size = st.radio("Size of the cut card", sizes, index=sizes.index(kept), format_func=WORDS.__getitem__)
    state.remember("card_size", size)
    st.download_button(
        f"Card {size} (PDF, one A4 page)",
        card_pdf(size),
        f"glostbook-card-{size}.pdf",
        "application/pdf",
        type="primary",
    )
    st.markdown(
        "- Print at 100 %, never “fit to page”, on plain matt white paper.\n"
        "- Measure the sheet’s own rule: it must be 100 mm long. If it is not, print again; "
        "a wrong card makes every size wrong.\n"
        "- Cut along the corner marks, glue it flat on stiff board, keep it clean.\n"
        "- In the photo: card and tiles side by side on one table, all four corner squares in view."
    )
    return size
