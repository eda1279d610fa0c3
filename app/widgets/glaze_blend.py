"""Blends of two and three glazes by dry weight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import streamlit as st

from app.cache import catalogue
from app.services.glazes import formula_rows, recipe_report
from app.services.mixing import blend_rows, line_rows
from app.widgets.allowed import allowed
from app.widgets.markup import facts_table
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import Recipe, RecipeLine

if TYPE_CHECKING:
    from catalog.glaze.materials import Material

__all__ = ["blends"]


def blends(recipe: Recipe, lines: Sequence[RecipeLine], own: Mapping[str, Material]) -> None:
    """Show the points between this glaze and one or two more."""
    del lines
    others = {each.name: each for each in catalogue().recipes() if each.name != recipe.name}
    with st.container(horizontal=True):
        chosen = st.multiselect(
            f"Blend {recipe.name} with", list(others), max_selections=2, placeholder="one glaze or two"
        )
        steps = st.number_input("Steps along an edge", 1, 20, 5 if len(chosen) < 2 else 4, width=160)
    if not chosen:
        st.caption("With one glaze: a line of points. With two: the triangle between all three.")
        return
    try:
        rows, points = blend_rows([recipe, *(others[name] for name in chosen)], steps, own)
    except CatalogError as error:
        failure(error)
        return
    left, right = st.columns(2, gap="large")
    left.dataframe(rows, hide_index=True)
    with right:
        names = [name for name, _ in points]
        name = st.selectbox("Point", names)
        found = points[names.index(name)][1]
        st.html(facts_table(line_rows(found)))
        try:
            report = recipe_report(found, own)
        except CatalogError as error:
            failure(error)
            return
        with st.expander("Its unity formula"):
            st.html(facts_table(formula_rows(report)))
        if not allowed("recipe"):
            return
        with st.form(f"blend_{recipe.id}", border=False):
            kept_as = st.text_input("Keep this point as a glaze named", placeholder="a new name")
            if st.form_submit_button("Keep it") and kept_as.strip():
                try:
                    catalogue().add_recipe(kept_as, list(found), notes=name)
                except CatalogError as error:
                    failure(error)
                    return
                st.rerun()
