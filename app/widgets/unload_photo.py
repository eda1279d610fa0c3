"""The photos of an unloading one by one: what was found in each, its trouble, ways to mend it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import streamlit as st

from app import state
from app.cache import catalogue, work_picture
from app.widgets.markup import advice_note, note, plain
from app.widgets.pieces import reading_words
from app.widgets.thickness import thickness_field
from app.widgets.unload_outline import draw_round
from app.widgets.unload_pairs import join_by_hand, joined_note
from app.widgets.unload_take import SUBJECTS
from app.words import Advice, flag_advice
from app.words.choices import size as size_words
from app.words.measures import calibration_words, subject_words
from app.words.unloading import STATE_WORDS, told_words
from catalog.unloading.records import Told, UnloadingPhoto

__all__ = ["photo_by_photo"]

_AT_ONCE = 6
_PREVIEW_PX, _PIECE_PX = 900, 320


def photo_by_photo(numbered: Sequence[tuple[int, UnloadingPhoto]]) -> None:
    """Show photos that are read or could not be, a few at once; those with trouble come first."""
    ordered = sorted(numbered, key=lambda pair: not pair[1].trouble)
    if not ordered:
        return
    st.header("Photo by photo")
    pages = list(range(0, len(ordered), _AT_ONCE))
    first = 0
    if len(pages) > 1:
        first = st.selectbox(
            "Photos shown",
            pages,
            format_func=lambda start: (
                f"{start + 1} to {min(start + _AT_ONCE, len(ordered))} of {len(ordered)}"
            ),
            key="unload_photos_shown",
            width=220,
        )
    for number, photo in ordered[first : first + _AT_ONCE]:
        with st.container(border=True):
            _photo(number, photo, numbered)


def _photo(number: int, photo: UnloadingPhoto, all_: Sequence[tuple[int, UnloadingPhoto]]) -> None:
    with st.container(horizontal=True, horizontal_alignment="distribute", vertical_alignment="center"):
        st.markdown(f"**Photo {number}** · {plain(photo.name)}")
        with st.container(horizontal=True, width="content"):
            _read_again(photo)
            join_by_hand(photo, all_)
            drawing = state.remembered("unload_drawing", None) == photo.id
            if "preview" in photo.pictures and st.button(
                "Stop drawing" if drawing else "Draw on it", key=f"draw_{photo.id}", type="tertiary"
            ):
                state.remember("unload_drawing", None if drawing else photo.id)
                st.rerun()
            if st.button("Leave out", key=f"leave_{photo.id}", type="tertiary"):
                catalogue().unloadings.leave_out(photo.id)
                st.rerun()
    joined_note(photo)
    if photo.trouble:
        st.html(advice_note(Advice(photo.trouble[0], " ".join(photo.trouble[1:]))))
    if photo.state not in ("read", "failed"):
        st.html(note(f"This photo is {STATE_WORDS[photo.state]}."))
    preview = work_picture(photo.pictures.get("preview"), _PREVIEW_PX)
    if drawing and preview is not None:
        draw_round(photo, preview)
        return
    if photo.reading is None:
        return
    picture, pieces = st.columns([2, 3], gap="medium")
    with picture:
        if preview is not None:
            st.image(
                preview, width="stretch", alt=f"{photo.name} with each piece found outlined and numbered"
            )
        calibration = photo.reading.calibration
        st.caption(calibration_words(calibration.kind, calibration.residual_delta_e_00, calibration.taught))
        if told := told_words(photo.told):
            st.caption(" ".join(told))
        _flags(photo)
    with pieces, st.container(horizontal=True, gap="medium"):
        for index, tile in enumerate(photo.reading.tiles):
            with st.container(width=190, gap="small"):
                size = (
                    ""
                    if tile.width_mm is None or tile.height_mm is None
                    else f", {size_words(tile.width_mm, tile.height_mm)}"
                )
                st.markdown(f"**{index + 1}** {subject_words(tile.subject)}{size}")
                small = work_picture(photo.pictures.get(str(index)), _PIECE_PX)
                if small is not None:
                    st.image(small, width=130, alt=f"piece {index + 1} of {photo.name}, straightened")
                reading_words(tile)


def _flags(photo: UnloadingPhoto) -> None:
    reading = photo.reading
    if reading is None:
        return
    flags = dict.fromkeys((*reading.flags, *(flag for tile in reading.tiles for flag in tile.flags)))
    if flags:
        words = "1 thing to know" if len(flags) == 1 else f"{len(flags)} things to know"
        with st.expander(words, expanded=not reading.tiles):
            st.html("".join(advice_note(flag_advice(flag)) for flag in flags))


def _read_again(photo: UnloadingPhoto) -> None:
    """Show the ways to read a photo once more: as something else, or with more told of it."""
    with st.popover("Read it as", type="tertiary"):
        for subject, words in SUBJECTS.items():
            if st.button(words, key=f"as_{subject}_{photo.id}", width="stretch"):
                wanted = None if subject == "any" else subject
                catalogue().unloadings.read_again(photo.id, subject=wanted, outlines={})
                st.rerun()
        told = photo.told
        thickness_mm = thickness_field(told.thickness_mm, f"thick_{photo.id}")
        if thickness_mm != told.thickness_mm and st.button("Read with this", key=f"thickly_{photo.id}"):
            _tell(photo, replace(told, thickness_mm=thickness_mm))
        if told.stripes and st.button("Take the stripe off", key=f"stripeless_{photo.id}", width="stretch"):
            _tell(photo, replace(told, stripes=()))


def _tell(photo: UnloadingPhoto, told: Told) -> None:
    catalogue().unloadings.read_again(photo.id, subject=photo.subject, told=told)
    st.rerun()
