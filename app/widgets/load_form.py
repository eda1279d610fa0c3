"""A kiln load on the screen: made, its witness cones by shelf."""

from __future__ import annotations

from datetime import UTC, datetime

import streamlit as st

from app.cache import catalogue
from app.services.studio import day_words, save_cones
from app.widgets.allowed import allowed
from app.widgets.pieces import failure
from app.words.choices import date_pattern
from catalog.errors import CatalogError
from catalog.firing.cones import LADDER
from catalog.records import ATMOSPHERES, ConeResult, Load

__all__ = ["AIR_WORDS", "SHELVES", "cones_editor", "load_line", "new_load"]

SHELVES = ("top", "middle", "bottom")
AIR_WORDS = {
    "oxidation": "oxidation",
    "neutral": "neutral",
    "light_reduction": "light reduction",
    "heavy_reduction": "heavy reduction",
}
_OFTEN = ("04", "03", "02", "01", "1", "2", "3", "4", "5", "5.5", "6", "7", "8", "9", "10")
CONES = (*_OFTEN, *(cone for cone in LADDER if cone not in _OFTEN))
"""Cones as text; those of most studios first (common practice, no source), then the rest of the ladder."""


def load_line(load: Load) -> str:
    """Give a load in one line."""
    parts = [load.kiln] if load.kiln else []
    if load.fired_on is not None:
        parts.append(day_words(load.fired_on))
    if load.cone_aimed:
        parts.append(f"aimed at cone {load.cone_aimed}")
    reached = ", ".join(f"{result.shelf or 'kiln'} {result.cone}" for result in load.cones)
    parts.append(f"witness cones: {reached}" if reached else "witness cones not read")
    if load.atmosphere:
        parts.append(AIR_WORDS[load.atmosphere])
    return " · ".join(parts)


def new_load(key: str) -> Load | None:
    """Show the form for a load and give the one made in this run."""
    with st.form(f"new_load_{key}", border=False):
        name = st.text_input("Name", placeholder="such as Glaze firing 21 November")
        one, two = st.columns(2)
        kiln = one.text_input("Kiln", placeholder="such as Small electric kiln")
        fired_on = two.date_input("Fired on", datetime.now(UTC).date(), format=date_pattern())
        aimed = one.selectbox("Cone aimed at", CONES, index=None, placeholder="not known")
        air = two.selectbox(
            "Atmosphere", ATMOSPHERES, index=None, placeholder="not known", format_func=AIR_WORDS.__getitem__
        )
        st.caption("Witness cones, where you read them: the cone is the fact, the programme only a plan.")
        cells = st.columns(len(SHELVES))
        cones = [
            (shelf, cell.selectbox(f"{shelf.capitalize()} shelf", CONES, index=None, placeholder="not read"))
            for shelf, cell in zip(SHELVES, cells, strict=True)
        ]
        if not st.form_submit_button("Make this load", type="primary"):
            return None
    results = [ConeResult(shelf, cone) for shelf, cone in cones if cone is not None]
    try:
        return catalogue().add_load(
            name, kiln=kiln, fired_on=fired_on, cone_aimed=aimed, cones=results, atmosphere=air
        )
    except CatalogError as error:
        failure(error)
        return None


def cones_editor(load: Load, key: str) -> bool:
    """Show the witness cones of a load shelf by shelf; tells whether they were changed and kept.

    Shelves of other names than top, middle and bottom keep their own row.
    """
    shelves = list(dict.fromkeys((*SHELVES, *(result.shelf for result in load.cones))))
    held = {result.shelf: result for result in load.cones}
    chosen: dict[str, str | None] = {}
    locked = not allowed("load", load.id)
    with st.container(horizontal=True):
        for shelf in shelves:
            kept = held[shelf].cone if shelf in held else None
            options = CONES if kept is None or kept in CONES else (kept, *CONES)
            chosen[shelf] = st.selectbox(
                f"{shelf.capitalize() or 'Kiln'} shelf",
                options,
                index=None if kept is None else options.index(kept),
                placeholder="not read",
                key=f"cone_{key}_{load.id}_{shelf}",
                disabled=locked,
                width=130,
            )
    if locked:
        return False
    now = [
        ConeResult(shelf, cone, held[shelf].note if shelf in held else "")
        for shelf, cone in chosen.items()
        if cone is not None
    ]
    if now == [held[shelf] for shelf in shelves if shelf in held]:
        return False
    try:
        save_cones(catalogue(), load.id, now)
    except CatalogError as error:
        failure(error)
        return False
    return True
