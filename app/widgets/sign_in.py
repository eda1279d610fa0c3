"""The sign-in page: all that is shown to somebody whom the catalogue does not know."""

from __future__ import annotations

import streamlit as st

from app.signed_in import (
    beyond_loopback,
    keep_cookie,
    service_is_set_up,
    sign_in_with_token,
    sign_out,
    vouched_email,
)
from app.widgets.markup import advice_note, plain
from app.words import error_advice
from app.words.people import NO_KEEPER, ROLE_WORDS, unknown_at_service
from catalog.errors import CatalogError
from catalog.people.errors import WrongSignInError
from catalog.people.records import KEEPER, Person
from catalog.store import Catalog

__all__ = ["sign_in_page", "signed_in_line"]


def sign_in_page(catalog: Catalog) -> None:
    """Ask who is there. Nothing of the catalogue is shown, not even its people's names."""
    keep_cookie()
    st.title("Sign in")
    if not any(person.role == KEEPER for person in catalog.people.list()):
        st.html(advice_note(NO_KEEPER))
        return
    if beyond_loopback() and not _is_encrypted():
        st.html(
            '<div class="gb-note">This address is not encrypted: on a network you do not trust, '
            "others could read along.</div>"
        )
    if service_is_set_up():
        _by_service(catalog)
    _by_passphrase(catalog)


def _is_encrypted() -> bool:
    return (st.context.url or "").startswith("https:")


def _by_service(catalog: Catalog) -> None:
    email = vouched_email()
    if email is None:
        if st.button("Sign in with your account", type="primary"):
            st.login()
        st.caption("Or by passphrase:")
        return
    try:
        sign_in_with_token(catalog.sign_ins.by_email(email))
    except WrongSignInError:
        st.html(advice_note(unknown_at_service(email)))
        if st.button("Use another account"):
            st.logout()
        return
    st.rerun()


def _by_passphrase(catalog: Catalog) -> None:
    with st.form("gb_sign_in_form", border=False, clear_on_submit=False):
        name = st.text_input("Name", autocomplete="username", width=340)
        passphrase = st.text_input("Passphrase", type="password", autocomplete="current-password", width=340)
        pressed = st.form_submit_button("Sign in", type="primary")
    if not pressed:
        st.caption("Who forgot theirs asks a keeper for a new one.")
        return
    try:
        token = catalog.sign_ins.by_passphrase(name, passphrase)
    except CatalogError as error:
        st.html(advice_note(error_advice(error)))
        return
    sign_in_with_token(token)
    st.rerun()


def signed_in_line(catalog: Catalog, person: Person) -> None:
    """Say who is signed in and as what, with the way out."""
    with st.container(horizontal=True, vertical_alignment="center"):
        st.write(f"You are signed in as **{plain(person.name)}**, {person.role}: {ROLE_WORDS[person.role]}.")
        if st.button("Sign out"):
            from_service = vouched_email() is not None
            sign_out(catalog)
            if from_service:
                st.logout()
            st.rerun()
