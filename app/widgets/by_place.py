"""What came out where in the kiln over many loads: colour, gloss and faults by shelf and side."""

from __future__ import annotations

from html import escape

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.places import place_rows, with_places
from catalog.piece_search import PieceFilter

__all__ = ["by_place_view"]

_HEADS = ("Place", "Mean colour", "Gloss", "With faults", "Pieces")


def by_place_view() -> None:
    """Show the places of a kiln side by side, best for one glaze on one clay."""
    catalog = catalogue()
    kilns = list(dict.fromkeys(load.kiln for load in catalog.loads("glaze") if load.kiln))
    bodies = {body.name: body.id for body in catalog.bodies()}
    with st.container(horizontal=True, vertical_alignment="bottom"):
        glaze = _choice("Glaze", [recipe.name for recipe in catalog.recipes()], "place_glaze")
        body = _choice("Clay body", list(bodies), "place_body")
        kiln = _choice("Kiln", kilns, "place_kiln")
        with_side = st.toggle("Sides apart", state.remembered("place_sides", True))
        state.remember("place_sides", with_side)
    filters = PieceFilter(recipe_name=glaze, body_id=bodies.get(body or ""))
    places = with_places(catalog, filters, kiln, with_side=with_side)
    if not places:
        st.write("No piece passes these filters. Take one away.")
        return
    st.html(_table(places, with_colour=glaze is not None))
    if glaze is None:
        st.caption("Choose a glaze, best with its clay, to compare places by colour.")
    st.caption("Counts, not chances: a few pieces say little. Colours without card or chart are left out.")


def _choice(label: str, names: list[str], key: str) -> str | None:
    kept = state.remembered(key, None)
    chosen = st.selectbox(
        label, names, index=names.index(kept) if kept in names else None, placeholder="any", width=200
    )
    state.remember(key, chosen)
    return chosen


def _table(places, *, with_colour: bool) -> str:
    heads = "".join(f'<th scope="col">{escape(head)}</th>' for head in _HEADS)
    body = []
    for name, swatch, colour, gloss, faults, pieces in place_rows(places, with_colour=with_colour):
        square = "" if swatch is None else f'<i style="background:{escape(swatch)}" aria-hidden="true"></i>'
        cells = "".join(f"<td>{escape(words)}</td>" for words in (gloss, faults, pieces))
        body.append(
            f'<tr><th scope="row">{escape(name)}</th>'
            f'<td><span class="gb-swatch">{square}<span>{escape(colour)}</span></span></td>{cells}</tr>'
        )
    return (
        '<div class="gb-wide" tabindex="0" role="region" aria-label="what came out where in the kiln">'
        f'<table class="gb-facts gb-places"><thead><tr>{heads}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )
