"""Studio: how to begin, how to take the photo, how figures are shown, backups, packages, the sample."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue, whole_catalogue
from app.signed_in import acting_person
from app.widgets.changes import what_changed
from app.widgets.choices import figure_choices
from app.widgets.first_steps import first_steps
from app.widgets.people import own_passphrase, people_here
from app.widgets.photo_guide import photo_guide
from app.widgets.safe_keeping import hand_on, safe_keeping, take_in
from app.widgets.sample_studio import sample_studio
from app.widgets.sign_in import signed_in_line


def show() -> None:
    """Show the studio's own page."""
    st.title("Studio")
    person = acting_person(whole_catalogue())
    if person is not None:
        signed_in_line(whole_catalogue(), person)
        own_passphrase(person)
    keeps = person is None or person.is_keeper
    empty = not catalogue().count_pieces()
    if empty:
        first_steps(guide=False)
    st.header("How to take the photo")
    photo_guide()
    if keeps:
        st.header("How figures are shown")
        figure_choices()
    if keeps:
        st.header("People")
        people_here(person)
    if not empty:
        st.header("What changed")
        what_changed()
        if keeps:
            st.header("Keep it safe")
            safe_keeping()
        st.header("Hand it on")
        hand_on()
    if keeps:
        st.header("Take a package in")
        take_in()
    if keeps and not empty:
        st.header("The sample studio")
        sample_studio()


show()
