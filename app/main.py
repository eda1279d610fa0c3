"""Routes only: which view stands under which name."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from app.cache import catalogue, whole_catalogue
from app.services.reading import missing_library
from app.signed_in import keep_cookie
from app.theme import logo, page_style
from app.widgets.allowed import begin_run
from app.widgets.markup import advice_note
from app.widgets.sign_in import sign_in_page
from app.words import error_advice
from app.words.choices import use_choices
from catalog.errors import CatalogError
from catalog.people.errors import NotAllowedError, SignedOutError

_VIEWS = Path(__file__).with_name("views")


def _page(name: str) -> st.Page:
    return st.Page(_VIEWS / f"{name}.py", title=name.capitalize(), url_path=name)


def _pages(*, may_write: bool) -> list[st.Page]:
    return [
        st.Page(_VIEWS / "start.py", title="Glostbook", default=True, visibility="hidden"),
        _page("bench"),
        *([_page("unload")] if may_write else []),
        *(_page(name) for name in ("shelf", "match", "why", "glazes", "firings", "ware", "print", "studio")),
    ]


st.set_page_config(page_title="Glostbook", layout="wide")
st.html(page_style())
st.logo(logo(), size="large")
lacking = missing_library()
if lacking is not None:
    st.html(advice_note(lacking))
    st.stop()
try:
    use_choices(catalogue().preferences.get(), st.context.locale)
    may_write = catalogue().may_write()
    keep_cookie()
except SignedOutError:
    # The address stays that of the view asked for, which is shown once somebody has signed in.
    st.navigation(_pages(may_write=True), position="hidden")
    sign_in_page(whole_catalogue())
    st.stop()
except CatalogError as error:
    st.html(advice_note(error_advice(error)))
    st.stop()
view = st.navigation(_pages(may_write=may_write), position="top")
begin_run()
try:
    view.run()
except (NotAllowedError, SignedOutError) as error:  # where a view has no words of its own for it
    st.html(advice_note(error_advice(error)))
