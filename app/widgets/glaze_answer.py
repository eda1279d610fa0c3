"""What a recipe is and does: sentences first, the numbers one touch below them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import TYPE_CHECKING

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.glazes import (
    expansion_rows,
    fit_rows,
    fits_by_clay,
    formula_rows,
    melt_rows,
    oxide_rows,
    plain_sentences,
    recipe_report,
    revision_rows,
    revisions,
)
from app.services.mixing import line_rows
from app.widgets.markup import advice_note, facts_table, note, plain, stop_box
from app.widgets.pieces import failure
from app.widgets.thickness import length_field
from app.words import error_advice
from app.words.glaze import oxides_in_words
from catalog.errors import CatalogError
from catalog.records import Recipe, RecipeLine

if TYPE_CHECKING:
    from catalog.glaze.materials import Material

__all__ = ["answer", "compare"]


def answer(recipe: Recipe, lines: Sequence[RecipeLine], own: Mapping[str, Material]) -> None:
    """Show what these lines come to, as they are typed."""
    coat_mm = state.remembered("coat_mm", None)
    try:
        report = recipe_report(lines, own, coat_mm=coat_mm)
        kept = recipe.id if list(lines) == list(recipe.lines) else None
        fits = fits_by_clay(catalogue(), report.expansions, own, kept)
    except CatalogError as error:
        st.html(advice_note(error_advice(error)))
        return
    holds = [words for words in report.cautions if words.startswith("Hold")]
    for words in holds:
        st.html(stop_box(words))
    st.subheader("What it does in the fire")
    said = [oxides_in_words(summary.sentence) for _, summary, _ in fits] or [
        "Whether it fits is not known: no tile of yours shows how another glaze fits the same clay, and no "
        "clay's expansion is kept. Give a clay's figure under Firings, or file tiles."
    ]
    st.html("".join(f'<p class="gb-say">{escape(words)}</p>' for words in [*said, *plain_sentences(report)]))
    for words in report.notes:
        st.caption(words)
    cautions = [words for words in report.cautions if words not in holds]
    with st.expander(f"{len(cautions)} cautions, in handling, in the kiln and in use"):
        for words in cautions:
            st.html(note(words))
    st.subheader("Unity formula")
    st.caption(
        "Fluxes add to 1: lithia, soda, potash, magnesia, lime, strontia, baryta, zinc and lead oxide."
    )
    st.html(facts_table(formula_rows(report)))
    with st.expander("All oxides by moles and weight"):
        st.dataframe(oxide_rows(report), hide_index=True)
    with st.expander("Fit by each published factor set"):
        st.html(facts_table(expansion_rows(report)))
        st.caption("Compare glazes within one set only. A fit test on your own clay decides.")
        for clay, _, each in fits:
            st.markdown(f"**{plain(clay)}**")
            st.html(facts_table(fit_rows(each)))
    with st.expander("Viscosity, surface tension and gas"):
        coat = length_field(
            "Dry coat",
            5.0,
            coat_mm,
            key="coat_mm_field",
            step_mm=0.1,
            placeholder="not measured",
            help="Gives the gas as volume from a square centimetre of this coat",
            width=180,
        )
        if (coat or None) != coat_mm:
            state.remember("coat_mm", coat or None)
            st.rerun()
        st.html(facts_table(melt_rows(report)))
        st.caption("Viscosity as the power of ten of Pa·s. Each model speaks inside its own ground only.")


def compare(recipe: Recipe, lines: Sequence[RecipeLine], own: Mapping[str, Material]) -> None:
    """Compare an earlier revision with the lines as they stand, oxide by oxide."""
    older = revisions(catalogue(), recipe.name)
    if len(older) == 1 and list(older[0].lines) == list(lines):
        st.write("There is one revision so far. Change a line above and the two stand side by side here.")
        return
    known = {f"Revision {each.revision}": each for each in older}
    name = st.selectbox("Compare with", list(known), index=min(1, len(known) - 1), width=220)
    before = known[name]
    try:
        rows = revision_rows(before, lines, own)
    except CatalogError as error:
        failure(error)
        return
    told = [row for row in rows if row["More than weighing can do?"] == "yes"]
    st.write(
        "No oxide moves by more than weighing and analyses can do."
        if not told
        else "Moved for certain: " + ", ".join(f"{row['Oxide']} {row['Moved']}" for row in told) + "."
    )
    left, right = st.columns([3, 2], gap="large")
    left.dataframe(rows, hide_index=True)
    with right:
        st.caption(f"{plain(name)}, as it was written")
        st.html(facts_table(line_rows(before.lines)))
        if before.notes:
            st.caption(plain(before.notes))
