"""How figures are shown: locale, °C or °F, mm or inch; kept with the catalogue."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from app.cache import catalogue
from app.widgets.pieces import failure
from app.words.choices import locale_names
from catalog.choices import LENGTHS, TEMPERATURES
from catalog.errors import CatalogError

__all__ = ["figure_choices"]

_BROWSERS = "As the browser says"
_LENGTH_WORDS = {"mm": "millimetres", "in": "inches"}


def figure_choices() -> None:
    """Show the choices and keep what is changed."""
    kept = catalogue().preferences.get()
    names = {"": _BROWSERS, **locale_names(kept.locale)}
    with st.container(horizontal=True):
        locale = st.selectbox(
            "Dates and numbers",
            list(names),
            index=list(names).index(kept.locale) if kept.locale in names else 0,
            format_func=names.__getitem__,
            width=260,
        )
        temperature = st.segmented_control(
            "Temperatures", TEMPERATURES, default=kept.temperature, format_func=lambda letter: f"°{letter}"
        )
        length = st.segmented_control(
            "Lengths", LENGTHS, default=kept.length, format_func=_LENGTH_WORDS.__getitem__
        )
    wanted = replace(
        kept, locale=locale, temperature=temperature or kept.temperature, length=length or kept.length
    )
    st.caption("Only how figures are shown: all is kept in °C and millimetres. Printed sheets stay in mm.")
    if wanted == kept:
        return
    try:
        catalogue().preferences.keep(wanted)
    except CatalogError as error:
        failure(error)
        return
    st.rerun()
