"""What of unloadings is filed or left out, each with the way back; unloadings left open and closed before."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app import state
from app.cache import catalogue
from app.widgets.allowed import may
from app.widgets.markup import note, plain
from app.widgets.pieces import failure
from app.words.unloading import count_words, left_out_words, undone_words, unloading_words
from catalog.errors import CatalogError
from catalog.unloading.records import Unloading, UnloadingPhoto

__all__ = ["filed_photos", "just_filed", "left_out_photos", "other_unloadings"]

_EARLIER = 8


def just_filed() -> None:
    """Say what was filed or undone last, with the way back and the way to the pieces."""
    told, photos = state.remembered("unload_filed", ("", ()))
    if not told:
        return
    st.html(note(told))
    with st.container(horizontal=True, vertical_alignment="center"):
        if photos and st.button("Undo", key="undo_last"):
            _undo(photos)
        st.page_link("views/shelf.py", label="See them on the Shelf", icon=":material/arrow_forward:")


def _undo(photo_ids: Sequence[int]) -> None:
    catalog = catalogue()
    touched = 0
    try:
        for photo_id in photo_ids:
            touched += catalog.unloadings.undo(photo_id)
    except CatalogError as error:
        failure(error)
        return
    state.remember("unload_filed", (undone_words(touched), ()))
    st.rerun()


def filed_photos(photos: Sequence[UnloadingPhoto]) -> None:
    """List the filed photos of the unloading in hand."""
    if not photos:
        return
    with st.expander(f"{count_words(len(photos), 'photo')} filed"):
        for photo in photos:
            with st.container(horizontal=True, vertical_alignment="center"):
                codes = ", ".join(photo.filing.get("codes", ())) or "nothing added"
                st.markdown(f"{plain(photo.name)} · {plain(codes)}", width="stretch")
                if _may_undo([photo]) and st.button("Undo", key=f"undo_{photo.id}"):
                    _undo([photo.id])
        if len(photos) > 1 and _may_undo(photos) and st.button("Undo all of these"):
            _undo([photo.id for photo in photos])


def _may_undo(photos: Sequence[UnloadingPhoto]) -> bool:
    """Tell whether who is here may take back what these photos filed."""
    return not catalogue().not_mine([code for photo in photos for code in photo.filing.get("codes", ())])


def left_out_photos(photos: Sequence[UnloadingPhoto]) -> None:
    """List the photos left out."""
    if not photos:
        return
    with st.expander(left_out_words(len(photos))):
        for photo in photos:
            with st.container(horizontal=True, vertical_alignment="center"):
                st.markdown(plain(photo.name), width="stretch")
                if st.button("Bring back", key=f"back_{photo.id}"):
                    catalogue().unloadings.bring_back(photo.id)
                    st.rerun()


def other_unloadings(now: Unloading | None) -> None:
    """List the unloadings left open, to go on with, and the last ones that are done, to undo."""
    catalog = catalogue()
    others = [one for one in catalog.unloadings.list(open_only=False) if now is None or one.id != now.id]
    if not others:
        return
    names = {load.id: load.name for load in catalog.loads()}
    with st.expander("Earlier unloadings"):
        for one in others[:_EARLIER]:
            counted = catalog.unloadings.state(one.id)
            with st.container(horizontal=True, vertical_alignment="center"):
                words = unloading_words(one, counted, names.get(one.load_id or 0))
                st.markdown(plain(words), width="stretch")
                if not one.closed and st.button("Go on with it", key=f"go_{one.id}"):
                    state.remember("unloading", one.id)
                    st.rerun()
                if not counted.counts.get("filed"):
                    continue
                # only of those who may not change everything is each photo asked
                if not may("setting") and not _may_undo(catalog.unloadings.photos_of(one.id)):
                    continue
                if st.button("Undo", key=f"undo_unloading_{one.id}"):
                    _undo_all(one.id)


def _undo_all(unloading_id: int) -> None:
    try:
        touched = catalogue().unloadings.undo_all(unloading_id)
    except CatalogError as error:
        failure(error)
        return
    state.remember("unloading", unloading_id)
    state.remember("unload_filed", (undone_words(touched), ()))
    st.rerun()
