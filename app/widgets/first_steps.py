"""What an empty catalogue says: print the card, take a photo, or look round the sample studio."""

from __future__ import annotations

import streamlit as st

from app.services.demo import demo_folder
from app.sheets.card import card_pdf
from app.widgets.allowed import allowed
from app.widgets.photo_guide import photo_guide
from app.widgets.sample_studio import fill_button

__all__ = ["first_steps"]


def first_steps(*, guide: bool = True) -> None:
    """Show the three ways to begin, and with `guide` how to take the photo."""
    st.html(
        '<p class="gb-lede">Nothing is filed here yet. Photograph a few test tiles beside the reference '
        "card and Glostbook measures them, keeps them and finds them again.</p>"
    )
    if not allowed("piece"):
        return
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
            "Its photos are really read, which takes about a minute. It can be taken out again under Studio."
        )
        if demo_folder() is None:
            st.caption("The sample photos are not on this computer.")
        else:
            fill_button()
    if guide:
        with st.expander("How to take the photo"):
            photo_guide()
