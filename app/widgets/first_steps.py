"""What an empty catalogue says: print the card, take a photo, or look round the sample studio."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue
from app.services.demo import demo_folder, fill_sample_studio
from app.sheets.card import card_pdf
from app.widgets.markup import advice_note
from app.words import error_advice
from catalog.errors import CatalogError

__all__ = ["first_steps"]


def first_steps() -> None:
    """Show the three ways to begin."""
    st.html(
        '<p class="gb-lede">Nothing is filed here yet. Photograph a few test tiles beside the reference '
        "card and Glostbook measures them, keeps them and finds them again.</p>"
    )
    one, two, three = st.columns(3, border=True)
    with one:
        st.subheader("1. Print the card")
        st.write("One A4 page, at 100 %. It gives the photo its scale and takes out the colour of the light.")
        st.download_button("Card to print (PDF)", card_pdf("A6"), "glostbook-card-A6.pdf", "application/pdf")
    with two:
        st.subheader("2. Photograph tiles")
        st.write(
            "Tiles and card flat on a plain table, daylight from one side, phone square above. "
            "Then drop the photos in."
        )
        st.page_link("views/unload.py", label="Go to Unload")
    with three:
        st.subheader("Or look round first")
        st.write(
            "An invented studio with two clays, seven glazes and three loads, one of them fired too hot. "
            "Its photos are really read, which takes about a minute."
        )
        if demo_folder() is None:
            st.caption("The sample photos are not on this computer.")
        elif st.button("Fill the sample studio"):
            _fill()


def _fill() -> None:
    bar = st.progress(0.0, "Reading the sample photos")
    folder = demo_folder()

    def progress(done: int, total: int, name: str) -> None:
        bar.progress(done / total, f"Reading photo {done + 1} of {total}: {name}")

    try:
        if folder is not None:
            fill_sample_studio(catalogue(), folder, progress)
    except CatalogError as error:
        st.html(advice_note(error_advice(error)))
        return
    st.rerun()
