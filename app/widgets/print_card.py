"""The reference card to download, and how to use it."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.teaching import taught_cards, teach
from app.sheets.card import CARD_SIZES, card_pdf, card_picture
from app.widgets.allowed import allowed, may
from app.widgets.markup import advice_note
from app.words import error_advice
from catalog.errors import CatalogError
from vision.errors import VisionError

__all__ = ["card", "card_teaching"]

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
    card_teaching()


def card_teaching() -> None:
    """Let the card be taught its true colours, and say which are."""
    st.subheader("Teach the card its true colours")
    st.write(
        "Once, if you can borrow a 24-patch colour chart: lay it beside the cut card, flat, in even light "
        "without glare, both whole in one photo. From then on its own true greys are used. "
        "A new print is another card: teach it again."
    )
    for known in taught_cards(catalogue()):
        with st.container(horizontal=True, vertical_alignment="center"):
            st.write(known.words)
            if may("card_teaching") and st.button("Forget it", key=f"forget_{known.layout}", type="tertiary"):
                catalogue().cards.forget(known.layout)
                st.rerun()
    if not allowed("card_teaching"):
        return
    given = st.file_uploader("Photo of the card beside a colour chart", key="teach_photo")
    if given is None or not st.button("Teach the card", type="primary"):
        return
    try:
        with st.spinner("Looking for card and chart"):
            teach(catalogue(), given.getvalue(), given.name)
    except (VisionError, CatalogError) as error:
        st.html(advice_note(error_advice(error)))
    else:
        st.rerun()


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
