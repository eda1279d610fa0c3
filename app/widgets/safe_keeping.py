"""Keep the catalogue safe: back it up, hand it on, take another in."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.keeping import (
    backed_up,
    chosen_folder,
    copies_in,
    look_at_upload,
    package_bytes,
    take_upload,
)
from app.widgets.markup import note, plain
from app.widgets.pieces import failure
from catalog.errors import CatalogError

__all__ = ["hand_on", "safe_keeping", "take_in"]


def safe_keeping() -> None:
    """Offer a backup into a folder, and show which copies it holds."""
    told = state.remembered("backup_told", ())
    if told:
        st.html("".join(note(words) for words in told))
    st.write(
        "Name a folder in your home, or one that glostbook backup was once given in a terminal on this "
        "computer, best on another drive. Photos that are there already are not copied again, and all that "
        "was copied is read back."
    )
    with st.container(horizontal=True, vertical_alignment="bottom"):
        folder = st.text_input(
            "Folder for the backup",
            value=state.remembered("backup_folder", chosen_folder(catalogue())),
            placeholder="/media/stick/glostbook",
            width=420,
        ).strip()
        pressed = st.button("Back up now", disabled=not folder)
    if folder:
        state.remember("backup_folder", folder)
    try:
        if pressed:
            with st.spinner("Copying and reading back"):
                state.remember("backup_told", backed_up(catalogue(), folder))
            st.rerun()
        copies = copies_in(catalogue(), folder) if folder else ()
    except CatalogError as error:
        failure(error)
        return
    if copies:
        with st.expander(f"Copies in this folder: {len(copies)}"):
            st.write(plain("; ".join(copies)) + ".")
            st.caption("To put one back, close the app and type: glostbook restore FOLDER --set-aside")


def hand_on() -> None:
    """Offer the catalogue as a package to download."""
    st.write(
        "One file with tables, photos and a description of both, for another Glostbook or any other program. "
        "Places and serial numbers that a phone writes into photos are left out, and so is who has a piece."
    )
    originals = st.checkbox("With the photos just as they came, and who has which piece")
    if st.button("Make the package"):
        try:
            with st.spinner("Writing the package"):
                made = package_bytes(catalogue(), originals=originals)
        except CatalogError as error:
            failure(error)
            return
        if made is None:
            st.html(note("It is too large to hand over here. In a terminal: glostbook export OUT.zip"))
            return
        data, lines = made
        if lines:
            st.html("".join(note(words) for words in lines))
        st.download_button(
            "Save the package", data, "glostbook-package.zip", "application/zip", type="primary"
        )


def take_in() -> None:
    """Say what an uploaded package would bring, and bring it in at a touch."""
    told = state.remembered("import_told", ())
    if told:
        st.html("".join(note(words) for words in told))
    given = st.file_uploader("Package", ["zip"], key=f"package_{state.remembered('import_round', 0)}")
    if given is None:
        st.caption(
            "You are shown what it would bring first. Nothing of yours is changed or overwritten. "
            "A package too large for this field: glostbook import PACKAGE.zip"
        )
        return
    try:
        with st.spinner("Looking the package through"):
            seen = look_at_upload(catalogue(), given.getvalue(), given.name)
        st.html("".join(note(words) for words in seen.lines))
        if seen.notes:
            title = "1 thing to know" if len(seen.notes) == 1 else f"{len(seen.notes)} things to know"
            with st.expander(title):
                st.markdown("\n".join(f"- {plain(words)}" for words in seen.notes))
        if seen.brings and st.button("Bring it in", type="primary"):
            state.remember("import_told", take_upload(catalogue(), given.getvalue(), given.name))
            state.remember("import_round", state.remembered("import_round", 0) + 1)
            st.cache_data.clear()
            st.rerun()
    except CatalogError as error:
        failure(error)
