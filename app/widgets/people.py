"""Who works here: the keeper adds people and lets them go; everybody changes their own passphrase."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from app import state
from app.cache import catalogue, whole_catalogue
from app.signed_in import service_is_set_up, sign_in_with_token
from app.widgets.markup import facts_table, note, plain
from app.widgets.pieces import failure
from app.words.choices import day_words
from app.words.people import ROLE_WORDS, person_words
from catalog.errors import CatalogError, InvalidRecordError
from catalog.people.passphrase import SHORTEST
from catalog.people.records import KEEPER, MEMBER, ROLES, Person

__all__ = ["own_passphrase", "people_here"]

_LONG = f"{SHORTEST} characters or more, such as four or five words."


def people_here(keeper: Person | None) -> None:
    """List the people, add to them, and change one; `keeper` is who does, None where there is nobody yet."""
    told = state.remembered("people_told", "")
    if told:
        st.html(note(told))
        state.remember("people_told", "")
    people = catalogue().people.list(left_too=True)
    here = [person for person in people if person.left_at is None]
    if not people:
        st.write(
            "Nobody is asked who they are here. To share this catalogue add yourself first, as its keeper: "
            "from then on everybody signs in, and each change bears a name."
        )
        _add(KEEPER)
        return
    st.html(facts_table([(person.name, person_words(person)) for person in here]))
    gone = [person for person in people if person.left_at is not None]
    if gone:
        days = ((person.name, person.left_at) for person in gone)
        words = "; ".join(f"{name}, {day_words(day.date())}" for name, day in days if day is not None)
        st.caption(plain(f"Left: {words}. Whoever is added again under the same name is who they were."))
    with st.expander("Add somebody"):
        _add(None)
    others = [person.name for person in here if keeper is None or person.id != keeper.id]
    if others:
        with st.expander("Change somebody's role or passphrase, or let them go"):
            _change({person.name: person for person in here}, others)


def _done(words: str) -> None:
    state.remember("people_told", words)
    state.remember("people_round", state.remembered("people_round", 0) + 1)
    st.rerun()


def _key(name: str) -> str:
    """Give a form a new name once it was used: no passphrase stays on the screen."""
    return f"people_{name}_{state.remembered('people_round', 0)}"


def _role_field(kept: str, key: str) -> str:
    role = st.segmented_control("Role", ROLES, default=kept, required=True, key=key)
    st.caption(" ".join(f"A {name} {words}." for name, words in ROLE_WORDS.items()))
    return role


def _add(only: str | None) -> None:
    with st.form(_key("add"), border=False):
        name = st.text_input("Name", key=_key("name"), width=340, autocomplete="off")
        role = only or _role_field(MEMBER, _key("role"))
        words = _new_passphrase("add", own=only is not None)
        email = ""
        if service_is_set_up():
            email = st.text_input(
                "Or the address they have at the sign-in service", key=_key("email"), width=340
            )
        pressed = st.form_submit_button("Add yourself as keeper" if only else "Add", type="primary")
    if pressed and _try(
        lambda: catalogue().people.add(name, role, passphrase=words or None, email=email or None)
    ):
        if only:
            sign_in_with_token(whole_catalogue().sign_ins.by_passphrase(name, words))
        _done(f"{name.strip()} is added as {role}.")


def _new_passphrase(key: str, *, own: bool = False) -> str:
    words = st.text_input(
        "Passphrase", type="password", key=_key(f"{key}_words"), width=340, autocomplete="new-password"
    )
    st.caption(f"{_LONG} {'You' if own else 'They'} can change it once signed in.")
    return words


def _change(here: dict[str, Person], others: list[str]) -> None:
    name = st.selectbox("Who", others, key=_key("who"), width=340)
    person = here[name]
    people = catalogue().people
    with st.form(_key(f"role_{person.id}"), border=False):
        role = _role_field(person.role, _key(f"role_of_{person.id}"))
        if st.form_submit_button("Keep the role") and _try(lambda: people.set_role(name, role)):
            _done(f"{name} is a {role} now, and signs in again.")
    with st.form(_key(f"words_{person.id}"), border=False):
        words = _new_passphrase(f"of_{person.id}")
        if st.form_submit_button("Set this passphrase") and _try(lambda: people.set_passphrase(name, words)):
            _done(f"{name} has a new passphrase, and signs in again wherever they were.")
    leaves = f"{plain(name)} leaves: no more sign-in, the name stays on what they did"
    sure = st.checkbox(leaves, key=_key(f"sure_{person.id}"))
    if st.button("Let them go", disabled=not sure) and _try(lambda: people.leave(name)):
        _done(f"{name} has left.")


def _try(work: Callable[[], object]) -> bool:
    try:
        work()
    except CatalogError as error:
        failure(error)
        return False
    return True


def own_passphrase(person: Person) -> None:
    """Let somebody change their passphrase; wherever else they were signed in, they have to sign in again."""
    if not person.has_passphrase:
        return
    with st.expander("Change your passphrase"), st.form(_key("own"), border=False):
        kinds = (("old", "The one you have", "current-password"), ("new", "A new one", "new-password"))
        asked = [*kinds, ("again", "The new one again", "new-password")]
        old, new, again = (
            st.text_input(label, type="password", key=_key(name), width=340, autocomplete=hint)
            for name, label, hint in asked
        )
        st.caption(f"{SHORTEST} characters or more, such as four or five words.")
        if not st.form_submit_button("Keep this passphrase"):
            return
        if _try(lambda: _change_own(person, old, new, again)):
            _done("Your passphrase is changed. Wherever else you were signed in, sign in again.")


def _change_own(person: Person, old: str, new: str, again: str) -> None:
    """Ask for the old one by way of a sign-in, so that wrong ones count and make one wait."""
    if new != again:
        raise InvalidRecordError("passphrase", "two that differ", "the same passphrase twice")
    sign_ins = whole_catalogue().sign_ins
    sign_ins.by_passphrase(person.name, old)
    catalogue().people.set_passphrase(person.name, new)
    sign_in_with_token(sign_ins.by_passphrase(person.name, new))
