"""Unload: photos of a fired load are kept, read in the background, corrected in one table, filed, undone."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.unload_filing import codes_ticked, unsure_piece
from app.services.unload_pairs import filed_firsts
from app.services.unloading import file_ready, in_hand, ready, say_for_all
from app.widgets.allowed import mine_of
from app.widgets.markup import note
from app.widgets.unload_filed import filed_photos, just_filed, left_out_photos, other_unloadings
from app.widgets.unload_load import choose_load
from app.widgets.unload_match import match_pieces
from app.widgets.unload_pairs import propose_filed, propose_pairs
from app.widgets.unload_photo import photo_by_photo
from app.widgets.unload_progress import reading_progress
from app.widgets.unload_table import say_fields, unload_table
from app.widgets.unload_take import take_photos
from app.words.unloading import file_button_words, filed_words, resumed_words, troubled_words, unsure_words
from catalog.unloading.records import Unloading, UnloadingPhoto


def show() -> None:
    """Show the unloading in hand."""
    st.title("Unload")
    catalog = catalogue()
    unloading = in_hand(catalog, state.remembered("unloading", None))
    just_filed()
    if unloading is not None:
        _left_over(unloading)
    take_photos(unloading)
    if unloading is not None:
        _in_hand(unloading)
    other_unloadings(unloading)


def _left_over(unloading: Unloading) -> None:
    """Say that an unloading begun before is gone on with, once in a window."""
    mine = state.remembered("unloading", None) == unloading.id
    counted = catalogue().unloadings.state(unloading.id)
    if mine or counted.total == counted.counts.get("filed", 0):
        return
    st.html(note(resumed_words(unloading, counted)))
    if st.button("Begin another instead"):
        state.remember("unloading", catalogue().unloadings.begin().id)
        st.rerun()


def _in_hand(unloading: Unloading) -> None:
    catalog = catalogue()
    counted = catalog.unloadings.state(unloading.id)
    photos = catalog.unloadings.photos_of(unloading.id)
    numbered = list(enumerate((photo for photo in photos if photo.state != "left_out"), start=1))
    reading_progress(unloading, counted)
    read = [(number, photo) for number, photo in numbered if photo.state == "read" and photo.said]
    if read:
        load_id = choose_load(unloading, [photo for _, photo in read])
        propose_pairs(read)
        asked = filed_firsts(catalog, photos)
        propose_filed(asked)
        st.header("What was found")
        held = {pair.second.id for pair in asked}
        free = [photo for _, photo in read if photo.id not in held]
        if free:
            _file(unloading, free, load_id, all_read=not counted.to_read)
        match_pieces(read, load_id)
        _table(read)
    photo_by_photo([(number, photo) for number, photo in numbered if photo.state in ("read", "failed")])
    filed_photos([photo for photo in photos if photo.state == "filed"])
    apart = [photo for photo in photos if photo.told.second_of is None]
    left_out_photos([photo for photo in apart if photo.state == "left_out"])


def _file(unloading: Unloading, photos: list[UnloadingPhoto], load_id: int | None, *, all_read: bool) -> None:
    """Show the one button that files, and say which photos it leaves."""
    can = _without_others(ready(photos, all_read=all_read))
    count = sum(1 for photo in can for row in photo.said if row["file"])
    if not st.button(file_button_words(count, all_read=all_read), type="primary", disabled=not count):
        return
    with st.spinner("Filing"):
        done = file_ready(catalogue(), unloading, can, load_id)
    told = [filed_words(done.added, done.extended, done.repeated), troubled_words(done.troubled)]
    state.remember("unload_filed", (" ".join(filter(None, told)), done.photos))
    state.remember("unload_told", ())
    st.rerun()


def _without_others(photos: list[UnloadingPhoto]) -> list[UnloadingPhoto]:
    """Leave out photos in which a ticked piece may not be changed by who is here, and say which piece."""
    codes = {photo.id: codes_ticked(photo) for photo in photos}
    mine = set(mine_of([code for each in codes.values() for code in each]))
    can = [photo for photo in photos if mine.issuperset(codes[photo.id])]
    if len(can) < len(photos):
        st.caption("Untick such a piece, and the rest of its photo can be filed.")
    return can


def _table(read: list[tuple[int, UnloadingPhoto]]) -> None:
    st.caption("Say once what all have in common, then correct single cells. Codes come from the labels.")
    said = say_fields()
    if said is not None:
        say_for_all(catalogue(), [photo for _, photo in read], said)
        st.rerun()
    unload_table(read)
    unsure = [
        (number, index + 1)
        for number, photo in read
        if photo.reading is not None
        for index, tile in enumerate(photo.reading.tiles)
        if unsure_piece(tile) and not photo.said[index]["file"]
    ]
    if unsure:
        st.caption(unsure_words(unsure))


show()
