"""Two photos of the same pieces, the lamp left and right, joined to be read as one: proposed, or by hand."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app.cache import catalogue
from app.services.unload_pairs import may_join, proposed_pairs
from app.widgets.markup import note, plain
from app.widgets.pieces import failure
from app.words.unloading import PAIR_HELP, pair_proposal_words, second_words
from catalog.errors import CatalogError
from catalog.unloading.records import UnloadingPhoto

__all__ = ["join_by_hand", "joined_note", "propose_pairs"]

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
