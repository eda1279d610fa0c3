"""Photos taken into an unloading: by upload or camera, kept on the disk at once, freed from memory."""

from __future__ import annotations

from typing import Any

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from app import state
from app.cache import catalogue
from app.services.unloading import TakenIn, take_in
from app.services.uploads import accepted
from app.widgets.markup import note
from app.widgets.thickness import thickness_field
from app.words.unloading import taken_words
from catalog.unloading.records import Unloading

__all__ = ["SUBJECTS", "take_photos"]

SUBJECTS = {"any": "Find out", "tile": "Flat tiles", "ware": "Ware", "patch": "Close-up of glaze"}


def take_photos(unloading: Unloading | None) -> None:
    """Show the ways to give photos; those given are kept, then the page runs anew with empty fields."""
    turn = state.remembered("unload_turn", 0)
    given: list[Any] = st.file_uploader(
        "Photos of the fired pieces, with the reference card in view",
        accept_multiple_files=True,
        key=f"photos_{turn}",
    )
    with st.container(horizontal=True, vertical_alignment="center"):
        camera = st.toggle("Use the camera here", key="unload_camera")
        with st.popover("How they are read", type="tertiary"):
            subject, thickness_mm, files_itself = _how(unloading)
    if camera:
        shot = st.camera_input(
            "One photo after the other: each is kept at once", key=f"camera_{turn}", resolution="1080p"
        )
        st.caption(
            "This camera gives at most 2 million pixels. For small pinholes take the photos with the phone's "
            "own camera and give them above."
        )
        given = [*given, shot] if shot is not None else given
    told = state.remembered("unload_told", ())
    if told:
        st.html("".join(note(words) for words in told))
    if not given:
        return
    state.remember("unload_told", _taken(unloading, given, subject, thickness_mm, files_itself))
    state.remember("unload_turn", turn + 1)
    st.rerun()


def _how(unloading: Unloading | None) -> tuple[str | None, float | None, bool]:
    said = st.segmented_control(
        "What do the photos show?",
        list(SUBJECTS),
        default=state.remembered("subject", "any"),
        format_func=SUBJECTS.__getitem__,
    )
    state.remember("subject", said or "any")
    subject = None if said in (None, "any") else said
    thickness_mm = thickness_field(state.remembered("unload_thickness_mm", None), "unload_thickness")
    state.remember("unload_thickness_mm", thickness_mm)
    if catalogue().people.any():  # the reader in the background is nobody: a person files
        return subject, thickness_mm, False
    now = state.remembered("files_itself", False) if unloading is None else unloading.files_itself
    files_itself = st.toggle(
        "File labelled photos as soon as they are read",
        value=now,
        key=None if unloading is None else f"files_itself_{unloading.id}_{now}",
        help="Photos with the card and a label at each piece; all of it can be undone here.",
    )
    state.remember("files_itself", files_itself)
    if unloading is not None and files_itself != now:
        catalogue().unloadings.set_files_itself(unloading.id, files_itself)
        st.rerun()
    return subject, thickness_mm, files_itself


def _taken(
    unloading: Unloading | None,
    given: list[Any],
    subject: str | None,
    thickness_mm: float | None,
    itself: bool,
) -> list[str]:
    taken, too_many = accepted(given)
    with st.spinner("Keeping the photos"):
        done: TakenIn = take_in(
            catalogue(),
            unloading,
            [(file.name, file.getvalue) for file in taken],
            subject,
            thickness_mm=thickness_mm,
            files_itself=itself,
            kept=lambda number: _free(given[number]),
        )
    for file in given[len(taken) :]:
        _free(file)
    if done.unloading is not None:
        state.remember("unloading", done.unloading.id)
    words = [taken_words(done.new, done.known), *([too_many] if too_many else []), *done.trouble]
    return [said for said in words if said]


def _free(file: Any) -> None:
    """Take an uploaded file out of the server's memory: it is kept on the disk."""
    context = get_script_run_ctx()
    if context is not None:
        manager: Any = context.uploaded_file_mgr
        manager.remove_file(context.session_id, file.file_id)
    file.close()
