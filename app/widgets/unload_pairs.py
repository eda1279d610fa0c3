"""Two photos of the same pieces, lamp left and right, read as one: proposed, by hand, or one filed before."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.unload_pairs import FiledFirst, may_join, proposed_pairs, read_with_filed
from app.widgets.allowed import mine_of
from app.widgets.markup import advice_note, note, plain
from app.widgets.pieces import failure
from app.words import Advice
from app.words.unloading import (
    FILED_PAIR_HELP,
    PAIR_HELP,
    filed_pair_words,
    pair_proposal_words,
    paired_words,
    second_words,
)
from catalog.errors import CatalogError
from catalog.unloading.records import UnloadingPhoto

__all__ = ["join_by_hand", "joined_note", "propose_filed", "propose_pairs"]

Numbered = Sequence[tuple[int, UnloadingPhoto]]


def propose_pairs(numbered: Numbered) -> None:
    """Show photos that are likely such a pair, with one button to join and one to leave them apart."""
    numbers = {photo.id: number for number, photo in numbered}
    for first, second in proposed_pairs([photo for _, photo in numbered]):
        with st.container(border=True):
            st.write(plain(pair_proposal_words(numbers[first.id], numbers[second.id])))
            st.caption(PAIR_HELP)
            with st.container(horizontal=True):
                if st.button("Read both as one", key=f"pair_{first.id}", type="primary"):
                    _join(first, second)
                if st.button("Leave them apart", key=f"apart_{first.id}"):
                    catalogue().unloadings.propose_pair(first.id, None)
                    st.rerun()


def propose_filed(pairs: Sequence[FiledFirst]) -> None:
    """Ask of photos that are likely the second of a filed one: read both as one, or file it by itself."""
    for pair in pairs:
        with st.container(border=True):
            st.write(plain(filed_pair_words(pair.second.name, pair.first.name, pair.codes)))
            st.caption(FILED_PAIR_HELP)
            mine = len(mine_of(pair.codes)) == len(pair.codes)
            with st.container(horizontal=True):
                key = f"filed_{pair.second.id}"
                if mine and st.button("Read both as one", key=f"pair_{key}", type="primary"):
                    _read_with_filed(pair)
                if st.button("File it by itself", key=f"apart_{key}"):
                    catalogue().unloadings.propose_pair(pair.second.id, None)
                    st.rerun()


def _read_with_filed(pair: FiledFirst) -> None:
    try:
        with st.spinner("Reading both photos as one"):
            done = read_with_filed(catalogue(), pair)
    except CatalogError as error:
        failure(error)
        return
    if isinstance(done, Advice):
        st.html(advice_note(done))
        return
    state.remember("unload_filed", (paired_words(pair.first.name, done), (pair.second.id,)))
    st.rerun()


def join_by_hand(photo: UnloadingPhoto, others: Numbered) -> None:
    """Show the fields that join a photo to another one of the unloading."""
    free = {other.id: (number, other) for number, other in others if other.id != photo.id and may_join(other)}
    if not may_join(photo) or not free:
        return
    with st.popover("Lamp left and right", type="tertiary"):
        st.caption(PAIR_HELP)
        ids = list(free)
        chosen = st.selectbox(
            "Second photo of the same pieces",
            ids,
            index=None,
            placeholder="choose",
            format_func=lambda one: f"Photo {free[one][0]} · {free[one][1].name}",
            key=f"second_{photo.id}",
        )
        if st.button("Read both as one", key=f"join_{photo.id}", disabled=chosen is None) and chosen:
            _join(photo, free[chosen][1])


def joined_note(photo: UnloadingPhoto) -> None:
    """Say with which photo this one is read, with the way back; nothing where it stands alone."""
    if photo.told.beside is None:
        return
    second = catalogue().unloadings.photo(photo.told.beside)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.html(note(second_words(second.name)))
        if st.button("Read each by itself", key=f"part_{photo.id}", type="tertiary"):
            catalogue().unloadings.part(photo.id)
            st.rerun()


def _join(first: UnloadingPhoto, second: UnloadingPhoto) -> None:
    try:
        catalogue().unloadings.join(first.id, second.id)
    except CatalogError as error:
        failure(error)
        return
    st.rerun()
