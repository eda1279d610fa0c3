"""Do without a material: the rest moves to keep the formula, and what moved is shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import streamlit as st

from app.cache import catalogue
from app.services.glazes import save_recipe
from app.services.mixing import line_rows, material_choices, move_rows, swap, swap_sentence
from app.widgets.allowed import allowed
from app.widgets.markup import facts_table, note, plain
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import Recipe, RecipeLine

if TYPE_CHECKING:
    from catalog.glaze.materials import Material

__all__ = ["swaps"]


def swaps(recipe: Recipe, lines: Sequence[RecipeLine], own: Mapping[str, Material]) -> None:
    """Show a swap of one material for others."""
    base = [line.material for line in lines if not line.addition and line.amount > 0]
    with st.container(horizontal=True):
        out = st.selectbox("Do without", base, index=None, placeholder="a material of the base", width=260)
        instead = st.multiselect(
            "Allow instead", material_choices(own), placeholder="one or more materials", width=420
        )
    if out is None or not instead:
        st.caption("The other materials move along, so that the unity formula stays as near as it will go.")
        return
    try:
        found = swap(lines, out, instead, own)
    except CatalogError as error:
        failure(error)
        return
    st.html(note(swap_sentence(found, out)))
    if found.dropped:
        st.caption(f"No longer needed: {plain(', '.join(found.dropped))}.")
    left, right = st.columns(2, gap="large")
    with left:
        st.html(facts_table(line_rows(found.lines)))
        if allowed("recipe") and st.button("Keep this as a new revision"):
            try:
                save_recipe(
                    catalogue(),
                    recipe,
                    found.lines,
                    recipe.cone_low,
                    recipe.cone_high,
                    sorted(recipe.intended),
                    f"Without {out}. {recipe.notes}".strip(),
                )
            except CatalogError as error:
                failure(error)
                return
            st.rerun()
    right.dataframe(move_rows(found), hide_index=True)
    st.caption(
        "The same formula from other materials still melts, gasses and settles in its own way: test it."
    )
