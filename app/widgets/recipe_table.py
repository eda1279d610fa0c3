"""The recipe as a table that edits in place; what is typed counts at once, what is kept is a new revision."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.glazes import lines_of, save_recipe
from app.services.mixing import material_choices
from app.widgets.allowed import may
from app.widgets.load_form import CONES
from app.widgets.markup import plain
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import Recipe, RecipeLine

if TYPE_CHECKING:
    from catalog.glaze.materials import Material

__all__ = ["choose", "edit", "new_glaze"]

EFFECTS = ("matt", "satin", "crazed", "crawled", "specked", "cratered", "running")


def choose(recipes: tuple[Recipe, ...]) -> Recipe | None:
    """Show the glazes; gives the one chosen, None for a new one."""
    names = [recipe.name for recipe in recipes]
    kept = state.remembered("glaze", names[0] if names else None)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        name = st.selectbox(
            "Glaze",
            names,
            index=names.index(kept) if kept in names else 0,
            key=f"glaze_of_{len(names)}",
            width=300,
        )
        if may("recipe"):
            with st.popover("New glaze"):
                new_glaze()
    state.remember("glaze", name)
    return next((recipe for recipe in recipes if recipe.name == name), None)


def new_glaze() -> None:
    """Show the form for a glaze with its first material."""
    with st.form("new_glaze", border=False):
        name = st.text_input("Name")
        material = st.text_input("First material", placeholder="such as potash feldspar")
        amount = st.number_input("Parts by weight", 0.0, None, 100.0)
        if not st.form_submit_button("Make it"):
            return
    try:
        made = catalogue().add_recipe(name, lines_of([{"material": material, "amount": amount}]))
    except CatalogError as error:
        failure(error)
        return
    state.remember("glaze", made.name)
    st.rerun()


def edit(recipe: Recipe, own: Mapping[str, Material]) -> list[RecipeLine]:
    """Show the recipe's lines to edit and give them as they stand now, kept or not."""
    import pandas as pd

    frame = pd.DataFrame(
        [{"material": i.material, "amount": i.amount, "addition": i.addition} for i in recipe.lines]
    )
    column = st.column_config
    edited = st.data_editor(
        frame,
        num_rows="dynamic",
        hide_index=True,
        key=f"lines_{recipe.id}",
        placeholder="–",
        column_config={
            "material": column.TextColumn("Material", required=True, width=165),
            "amount": column.NumberColumn(
                "Parts", min_value=0.0, required=True, width=75, help="By weight; any total"
            ),
            "addition": column.CheckboxColumn(
                "On top", default=False, help="An addition stands above the base", width=75
            ),
        },
    )
    lines = lines_of(edited.to_dict("records"))
    with st.popover("Names of materials", type="tertiary"):
        st.caption("Any of these, in any spelling of case; your own come first.")
        st.write(plain(", ".join(material_choices(own))))
    with st.container(horizontal=True):
        low = _cone("Fires from cone", recipe.cone_low, f"low_{recipe.id}")
        high = _cone("to cone", recipe.cone_high, f"high_{recipe.id}")
        intended = st.multiselect(
            "Meant to be",
            sorted({*EFFECTS, *recipe.intended}),
            default=sorted(recipe.intended),
            help="An effect you want is no fault",
            key=f"meant_{recipe.id}",
            width=260,
        )
    notes = st.text_input("Notes", recipe.notes, key=f"notes_{recipe.id}")
    if not may("recipe"):
        st.caption("Try out what you like; keepers and members keep it as a new revision.")
    elif st.button("Keep as a new revision", type="primary"):
        try:
            made = save_recipe(catalogue(), recipe, lines, low, high, intended, notes)
        except CatalogError as error:
            failure(error)
            return lines
        if made.id == recipe.id:
            st.info("Nothing differs from the last revision.")
            return lines
        st.rerun()
    st.caption("Pieces filed before stay with the revision they were glazed from.")
    return lines


def _cone(label: str, kept: str | None, key: str) -> str | None:
    options = CONES if kept is None or kept in CONES else (kept, *CONES)
    index = None if kept is None else options.index(kept)
    return st.selectbox(label, options, index=index, placeholder="not said", key=key, width=140)
