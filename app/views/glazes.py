"""Glazes: recipes with their revisions, lines to edit, the formula beside them, cautions."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.glazes import expansion_rows, formula_rows, lines_of, recipe_report, revisions, save_recipe
from app.widgets.first_steps import first_steps
from app.widgets.load_form import CONES
from app.widgets.markup import advice_note, facts_table, note, stop_box
from app.widgets.pieces import failure
from app.words import error_advice
from catalog.errors import CatalogError
from catalog.records import Recipe

EFFECTS = ("matt", "satin", "crazed", "crawled", "specked", "cratered", "running")


def choose(recipes: tuple[Recipe, ...]) -> Recipe | None:
    """Show the glazes; gives the one chosen, None for a new one."""
    names = [recipe.name for recipe in recipes]
    kept = state.remembered("glaze", names[0] if names else None)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        name = st.selectbox("Glaze", names, index=names.index(kept) if kept in names else 0, width=300)
        with st.popover("New glaze"):
            _new_glaze()
    state.remember("glaze", name)
    return next((recipe for recipe in recipes if recipe.name == name), None)


def _new_glaze() -> None:
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


def edit(recipe: Recipe) -> None:
    """Show the recipe's lines to edit; kept changes become the next revision."""
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
        column_config={
            "material": column.TextColumn("Material", required=True),
            "amount": column.NumberColumn("Parts by weight", min_value=0.0, required=True),
            "addition": column.CheckboxColumn(
                "On top", default=False, help="An addition stands above the base"
            ),
        },
    )
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
    if st.button("Keep as a new revision", type="primary"):
        try:
            lines = lines_of(edited.to_dict("records"))
            made = save_recipe(catalogue(), recipe, lines, low, high, intended, notes)
        except CatalogError as error:
            failure(error)
            return
        if made.id == recipe.id:
            st.info("Nothing differs from the last revision.")
            return
        st.rerun()
    st.caption("Pieces filed before stay with the revision they were glazed from.")


def _cone(label: str, kept: str | None, key: str) -> str | None:
    options = CONES if kept is None or kept in CONES else (kept, *CONES)
    index = None if kept is None else options.index(kept)
    return st.selectbox(label, options, index=index, placeholder="not said", key=key, width=140)


def formula(recipe: Recipe) -> None:
    """Show the formula beside the recipe, its expansion and what must be said of it."""
    try:
        report = recipe_report(recipe)
    except CatalogError as error:
        st.html(advice_note(error_advice(error)))
        return
    holds = [words for words in report.cautions if words.startswith("Hold")]
    for words in holds:
        st.html(stop_box(words))
    st.subheader("Unity formula")
    st.html(facts_table(formula_rows(report)))
    st.subheader("Expansion, by published set")
    st.html(facts_table(expansion_rows(report)))
    st.caption("Compare glazes within one set only. A fit test on your own clay decides.")
    for words in report.cautions:
        if words not in holds:
            st.html(note(words))
    for words in report.notes:
        st.caption(words)


def show() -> None:
    """Show the glazes."""
    st.title("Glazes")
    recipes = catalogue().recipes()
    if not recipes:
        st.write("No glaze is kept yet.")
        _new_glaze()
        first_steps()
        return
    recipe = choose(recipes)
    if recipe is None:
        return
    older = revisions(catalogue(), recipe.name)
    st.caption(f"Revision {recipe.revision} of {len(older)}")
    left, right = st.columns(2, gap="large")
    with left:
        st.subheader("Recipe")
        edit(recipe)
        for old in older[1:]:
            with st.expander(f"Revision {old.revision}"):
                st.html(facts_table([(i.material, f"{i.amount:g}") for i in old.lines]))
    with right:
        formula(recipe)


show()
