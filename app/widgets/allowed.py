"""What a person may not do is not offered; a line says who may. The catalogue refuses it all the same."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app import state
from app.cache import catalogue
from app.widgets.markup import plain
from app.words.people import who_may_words

__all__ = ["allowed", "begin_run", "may", "mine_of"]

_THINGS = {
    "piece": "this piece",
    "load": "this load",
    "recipe": "this glaze",
    "material": "this material",
    "body": "this clay",
    "bucket": "this bucket",
    "glaze_effect": "what a glaze is meant to do",
    "card_teaching": "what the card was taught",
    "setting": "what holds for the whole studio",
}


def may(thing: str, number: int | None = None) -> bool:
    """Tell whether who is here may change a thing; without a number, make one."""
    return catalogue().permission(thing, number).allowed


def allowed(thing: str, number: int | None = None) -> bool:
    """As `may`, and say who may where they may not."""
    found = catalogue().permission(thing, number)
    if not found.allowed:
        _say(who_may_words(found, _THINGS[thing]))
    return found.allowed


def mine_of(codes: Sequence[str]) -> tuple[str, ...]:
    """Give those of some pieces that may be changed; a line says of the others whose they are."""
    others = catalogue().not_mine(codes)
    for owner in dict.fromkeys(found.owner for found in others.values()):
        named = [code for code, found in others.items() if found.owner == owner]
        few = ", ".join(named[:4]) + (f" and {len(named) - 4} more" if len(named) > 4 else "")
        _say(who_may_words(others[named[0]], few))
    keys = {code.casefold() for code in others}
    return tuple(code for code in codes if code.casefold() not in keys)


def begin_run() -> None:
    """Forget which lines this run of the page has said; each stands once."""
    state.remember("who_may_said", ())


def _say(words: str) -> None:
    said = state.remembered("who_may_said", ())
    if words not in said:
        state.remember("who_may_said", (*said, words))
        st.caption(plain(words))
