"""Who works with the app: asked for as soon as others can reach it, or the catalogue has people.

The token of a sign-in stands in Streamlit's session, which ends when a page is loaded anew, and in a cookie
of the browser, so that a link or a reload asks nobody again. The catalogue keeps only its digest.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

import streamlit as st

from app.server import is_loopback
from catalog.people.errors import SignedOutError
from catalog.people.records import Person
from catalog.people.sign_in import ABSOLUTE
from catalog.store import Catalog

__all__ = [
    "acting_person",
    "beyond_loopback",
    "keep_cookie",
    "service_is_set_up",
    "sign_in_with_token",
    "sign_out",
    "vouched_email",
]

COOKIE = "glostbook_sign_in"
_TOKEN = "gb_sign_in"  # noqa: S105 - the key in the session, not a token
_CHECKED = "gb_sign_in_checked"
_CHECK_EVERY_S = 5.0
"""Within one run many parts ask for the catalogue; who is signed in is looked up this often."""


@dataclass(frozen=True, slots=True)
class _Checked:
    token: str | None
    wanted: bool
    person: Person | None
    at: float


def beyond_loopback() -> bool:
    """Tell whether others can reach the app: it listens beyond this computer, or was called by another name.

    The second is how a browser arrives that came through a proxy, or was led here by a foreign page.
    """
    address = st.get_option("server.address")
    if not address or not is_loopback(str(address)):
        return True
    called = st.context.headers.get("Host", "")
    if not isinstance(called, str):
        return False  # Streamlit's own test runner has no browser
    host = called.rsplit(":", 1)[0] if called.rpartition(":")[2].isdigit() else called
    return bool(host) and not is_loopback(host)


def acting_person(catalog: Catalog) -> Person | None:
    """Give who is signed in; None where the catalogue is one potter's own and asks nobody.

    Raises
    ------
    SignedOutError : somebody should be, and nobody is (any more).
    """
    checked: _Checked | None = st.session_state.get(_CHECKED)
    token = _token()
    stale = checked is None or time.monotonic() - checked.at >= _CHECK_EVERY_S or checked.token != token
    if checked is None or stale:
        wanted = beyond_loopback() or catalog.people.any()
        person = catalog.sign_ins.person_of(token) if wanted and token else None
        checked = _Checked(token, wanted, person, time.monotonic())
        st.session_state[_CHECKED] = checked
    if checked.wanted and checked.person is None:
        raise SignedOutError
    return checked.person


def _token() -> str | None:
    kept = st.session_state.get(_TOKEN)
    return _cookie() if kept is None else kept


def _cookie() -> str | None:
    found = st.context.cookies.get(COOKIE)
    return found if isinstance(found, str) else None  # Streamlit's own test runner has no browser


def sign_in_with_token(token: str) -> None:
    """Keep the token of a sign-in just made, for this session and its browser."""
    st.session_state[_TOKEN] = token
    st.session_state.pop(_CHECKED, None)


def sign_out(catalog: Catalog) -> None:
    """End this sign-in; nothing that was shown or begun in it stays with the session."""
    token = _token()
    if token:
        catalog.sign_ins.end(token)
    for key in list(st.session_state):
        del st.session_state[key]
    st.session_state[_TOKEN] = ""


def keep_cookie() -> None:
    """Put the token into the browser's cookie, or take it away, where the two differ.

    Only a script can do so here, so the cookie is readable by the page's own scripts (no HttpOnly).
    """
    kept = st.session_state.get(_TOKEN)
    if kept is None or (_cookie() or "") == kept:
        return
    component = st.components.v2.component("glostbook_cookie", js=_JS)
    component(key="gb_cookie", data={"name": COOKIE, "value": kept, "seconds": int(ABSOLUTE.total_seconds())})


_JS = """
export default function ({ data }) {
  const secure = location.protocol === "https:" ? "; Secure" : ""
  const age = data.value ? data.seconds : 0
  document.cookie = `${data.name}=${data.value}; Path=/; SameSite=Strict; Max-Age=${age}${secure}`
}
"""


def service_is_set_up() -> bool:
    """Tell whether a settings file names a sign-in service (OpenID Connect)."""
    try:
        return "auth" in st.secrets
    except FileNotFoundError:
        return False


def vouched_email() -> str | None:
    """Give the address that the sign-in service vouches for, None where nobody came from there.

    An address that the service itself calls unverified does not count.
    """
    user: Any = st.user
    if not service_is_set_up() or not getattr(user, "is_logged_in", False):
        return None
    if str(user.get("email_verified", True)).lower() == "false":
        return ""
    return str(user.get("email") or "")
