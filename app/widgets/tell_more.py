"""What a person tells of a filed piece's photo, so that it says more: the tile's thickness, a dark stripe."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.pictures import shown_photo
from app.services.telling_more import read_with, told_of
from app.widgets.markup import advice_note
from app.widgets.pieces import failure
from app.widgets.thickness import thickness_field
from app.widgets.unload_outline import drawn_corners
from app.words.unloading import STRIPE_HELP
from catalog.errors import CatalogError
from catalog.records import KeptReading, Piece
from vision.errors import VisionError
from vision.reading import Subject

__all__ = ["tell_more"]


def tell_more(piece: Piece) -> None:
    """Show what was told of the newest photo and let more be told; it is read again with that."""
    if not piece.readings or piece.readings[0].tile.subject is not Subject.TILE:
        return
    reading = piece.readings[0]
    folded = st.expander("Thickness, and a stripe under the glaze", on_change="rerun", key="tell_more")
    if not folded.open:
        return
    with folded:
        _fields(piece.code, reading)


def _fields(code: str, reading: KeptReading) -> None:
    told = told_of(catalogue(), reading.id)
    key = f"more_{code}_{reading.id}"
    thickness_mm = thickness_field(told.thickness_mm, key)
    if thickness_mm != told.thickness_mm and st.button("Read again with this thickness", key=f"{key}_read"):
        _read(reading, thickness_mm)
    if told.stripes:
        st.write("The dark stripe under the glaze is the one you marked.")
        if st.button("Take it off and read again", key=f"{key}_off"):
            _read(reading, thickness_mm, keep_stripes=False)
    if not st.toggle("Mark a dark stripe under the glaze", key=f"{key}_stripe"):
        return
    st.caption(STRIPE_HELP)
    try:
        picture = shown_photo(catalogue(), reading.photo_sha256, "the photo")
    except (CatalogError, VisionError) as error:
        failure(error)
        return
    corners = drawn_corners(picture, f"The photo of {code}", f"{key}_corners")
    if corners is not None:
        _read(reading, thickness_mm, stripe=corners)


def _read(
    reading: KeptReading,
    thickness_mm: float | None,
    *,
    stripe: list[list[float]] | None = None,
    keep_stripes: bool = True,
) -> None:
    try:
        with st.spinner("Reading the photo again"):
            trouble = read_with(
                catalogue(),
                reading.id,
                thickness_mm=thickness_mm,
                stripe=stripe,
                keep_stripes=keep_stripes,
            )
    except (CatalogError, VisionError) as error:
        failure(error)
        return
    if trouble is not None:
        st.html(advice_note(trouble))
        return
    state.remember("tell_more", reading.id)
    st.rerun()
