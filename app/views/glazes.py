"""Glazes: a recipe to edit with its formula beside it, and what can be made of it."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.glazes import revisions
from app.widgets.allowed import allowed
from app.widgets.bucket import bucket
from app.widgets.first_steps import first_steps
from app.widgets.glaze_answer import answer, compare
from app.widgets.glaze_blend import blends
from app.widgets.glaze_plane import plane
from app.widgets.glaze_swap import swaps
from app.widgets.own_materials import own_materials
from app.widgets.recipe_table import choose, edit, new_glaze

WORK = {
    "Mix a bucket": bucket,
    "Compare revisions": compare,
    "Do without a material": swaps,
    "Blend": blends,
    "Silica and alumina": plane,
    "Own materials": own_materials,
}


def show() -> None:
    """Show the glazes."""
    st.title("Glazes")
    catalog = catalogue()
    recipes = catalog.recipes()
    if not recipes:
        st.write("No glaze is kept yet.")
        if allowed("recipe"):
            new_glaze()
        first_steps()
        return
    recipe = choose(recipes)
    if recipe is None:
        return
    own = catalog.workshop.own()
    older = revisions(catalog, recipe.name)
    left, right = st.columns(2, gap="large")
    with left:
        st.subheader("Recipe")
        st.caption(f"Revision {recipe.revision} of {len(older)}")
        lines = edit(recipe, own)
    with right:
        answer(recipe, lines, own)
    st.divider()
    names = list(WORK)
    kept = state.remembered("glaze_work", names[0])
    chosen = st.segmented_control("With this glaze", names, default=kept, key="glaze_work_choice")
    state.remember("glaze_work", chosen or names[0])
    WORK[chosen or names[0]](recipe, lines, own)


show()
