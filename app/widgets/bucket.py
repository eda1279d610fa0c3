"""Mix a bucket: what to weigh, how much water for the gravity wanted, what leaves the coat wanted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.mixing import batch_rows, make_batch
from app.widgets.markup import note, plain
from app.widgets.pieces import failure
from app.words.choices import number
from catalog.errors import CatalogError
from catalog.records import Recipe, RecipeLine

if TYPE_CHECKING:
    from catalog.glaze.materials import Material

__all__ = ["bucket"]


def bucket(recipe: Recipe, lines: Sequence[RecipeLine], own: Mapping[str, Material]) -> None:
    """Show a batch of this glaze."""
    from catalog.glaze.batch import SOLIDS_DENSITY_G_PER_ML, specific_gravity_for_coat

    del own
    with st.container(horizontal=True):
        dry = st.number_input(
            "Dry batch, grams",
            1.0,
            None,
            state.remembered("batch_g", 1000.0),
            100.0,
            key="batch_dry",
            width=160,
        )
        gravity = st.number_input(
            "Gravity of the slip",
            1.01,
            2.4,
            state.remembered("batch_sg", 1.45),
            0.01,
            "%.2f",
            key="batch_gravity",
            width=160,
        )
        density = st.number_input(
            "Density of the dry glaze, g/ml",
            1.5,
            7.0,
            state.remembered("batch_density", SOLIDS_DENSITY_G_PER_ML),
            0.05,
            "%.2f",
            key="batch_solids",
            help="2.60 for feldspar, quartz and clay; higher with zircon, tin, barium or lead",
            width=220,
        )
    for key, value in (("batch_g", dry), ("batch_sg", gravity), ("batch_density", density)):
        state.remember(key, value)
    moisture = catalogue().workshop.moisture_pct()
    try:
        made = make_batch(lines, dry, gravity, density, moisture)
    except CatalogError as error:
        failure(error)
        return
    left, right = st.columns([3, 2], gap="large")
    grams = st.column_config.NumberColumn(format="%.1f")
    left.dataframe(batch_rows(made), hide_index=True, column_config={"Grams": grams, "Running total": grams})
    with right:
        st.html(
            note(
                f"{made.water_g:.0f} g of water for a slip of gravity {number(gravity, 2)}: it makes "
                f"{made.slip_ml:.0f} ml. Add most of it, sieve, then the rest until the hydrometer agrees."
            )
        )
        damp = [line.material for line in made.lines if moisture.get(line.material)]
        if damp:
            st.caption(f"Damp, so weighed heavier and their water taken off: {plain(', '.join(damp))}.")
        with st.expander("Which gravity leaves the coat I want?"):
            st.caption(
                "Weigh a bisqued tile, dip it in water as you dip in glaze, wipe nothing, weigh again: the "
                "gain over the dipped area is the water it takes up."
            )
            coat = st.number_input("Dry coat, g per cm²", 0.001, 1.0, 0.08, 0.01, "%.3f")
            water = st.number_input("Water taken up, g per cm²", 0.001, 2.0, 0.12, 0.01, "%.3f")
            st.write(f"A slip of gravity {number(specific_gravity_for_coat(coat, water, density), 2)}.")
    st.caption(
        f"{plain(recipe.name)}, lines as they stand above. Weigh and mix with a respirator; clean up wet."
    )
