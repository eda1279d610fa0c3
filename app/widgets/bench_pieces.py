"""Which pieces: typed or read off a photo of their labels, new ones with codes, or those that wait."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.bench import labels_in_photo
from app.services.reading import PHOTO_ENDINGS
from app.widgets.allowed import mine_of
from app.widgets.markup import note
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from vision.errors import VisionError

if TYPE_CHECKING:
    from streamlit.runtime.uploaded_file_manager import UploadedFile

__all__ = ["KINDS", "clay_field", "codes_field", "label_photo", "new_pieces_fields"]

KINDS = {"tile": "tiles", "ware": "ware"}


def label_photo(words: str, key: str, then: Callable[[tuple[str, ...]], None]) -> None:
    """Ask for a photo of labels and hand on what stands on them; on a phone this opens the camera."""
    given: UploadedFile | None = st.file_uploader(words, PHOTO_ENDINGS, key=key)
    if given is None or state.remembered(f"{key}_read", "") == given.file_id:
        return
    try:
        found = labels_in_photo(given.getvalue(), given.name)
    except VisionError as error:
        failure(error)
        return
    if not found:
        st.html(note("No label can be read in this photo. Go nearer, hold still, or type the code."))
        return
    state.remember(f"{key}_read", given.file_id)
    then(found)
    st.rerun()


def codes_field(key: str) -> tuple[str, ...]:
    """Show the field for codes, with a photo of labels beside it; gives the codes."""
    from catalog.bench.codes import codes_of_text

    def take(found: tuple[str, ...]) -> None:
        before = state.remembered(f"{key}_text", "")
        state.remember(f"{key}_text", " ".join([*before.split(), *found]))
        state.remember(f"{key}_round", state.remembered(f"{key}_round", 0) + 1)

    text = st.text_input(
        "Codes",
        state.remembered(f"{key}_text", ""),
        key=f"{key}_codes_{state.remembered(f'{key}_round', 0)}",
        placeholder="T-0101 to T-0120, W-0003",
    )
    state.remember(f"{key}_text", text)
    with st.expander("Read codes off a photo of their labels"):
        label_photo("Photo of the labels", f"{key}_labels", take)
    try:
        codes = codes_of_text(text)
    except CatalogError as error:
        failure(error)
        return ()
    return codes if len(mine_of(codes)) == len(codes) else ()


def empty_codes(key: str) -> None:
    """Empty the field for codes."""
    state.remember(f"{key}_text", "")
    state.remember(f"{key}_round", state.remembered(f"{key}_round", 0) + 1)


def clay_field(key: str, kept: int | None) -> int | None:
    """Ask for the clay of new pieces."""
    bodies = {body.id: body.name for body in catalogue().bodies()}
    ids = list(bodies)
    return st.selectbox(
        "Clay",
        ids,
        index=ids.index(kept) if kept in bodies else None,
        placeholder="not said",
        format_func=bodies.__getitem__,
        key=f"{key}_clay",
        width=220,
    )


def new_pieces_fields(
    key: str, count: int = 20, kind: str = "tile", body_id: int | None = None
) -> tuple[int, str, int | None]:
    """Ask how many new pieces, tiles or ware, of which clay."""
    with st.container(horizontal=True):
        many = st.number_input("How many", 1, 500, count, key=f"{key}_count", width=130)
        what = st.selectbox(
            "What",
            list(KINDS),
            index=list(KINDS).index(kind),
            format_func=KINDS.__getitem__,
            key=f"{key}_kind",
            width=120,
        )
        clay = clay_field(key, body_id)
    return int(many), str(what), clay
