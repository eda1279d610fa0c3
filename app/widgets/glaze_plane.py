"""The studio's own tiles on the plane of silica and alumina, at one cone. No regions: your tiles say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.mixing import plane_of_tiles
from app.theme import ACCENT
from app.widgets.load_form import CONES
from app.widgets.markup import plain
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from catalog.records import Recipe, RecipeLine

if TYPE_CHECKING:
    from catalog.glaze.materials import Material
    from catalog.glaze.silica_alumina import PlanePoint

__all__ = ["plane"]

SIGNS = {"gloss": "circle", "satin": "diamond", "matt": "square", "": "x-thin-open"}
"""One sign a finish, as the tile was read or judged."""


def plane(recipe: Recipe, lines: Sequence[RecipeLine], own: Mapping[str, Material]) -> None:
    """Show where the studio's tiles lie, and where the glaze above would."""
    from catalog.glaze.silica_alumina import FiredRecipe, plane_points

    kept = state.remembered("plane_cone", recipe.cone_high or "6")
    cone = st.selectbox(
        "Fired to cone", CONES, index=CONES.index(kept) if kept in CONES else 0, key="plane_cone", width=160
    )
    state.remember("plane_cone", cone)
    try:
        tiles, without = plane_of_tiles(catalogue(), cone, own)
        here, _ = plane_points([FiredRecipe(recipe.name, lines, cone)], cone, own)
    except CatalogError as error:
        failure(error)
        return
    if not tiles:
        st.write(f"No tile of yours came to cone {cone} yet, so the plane shows this glaze alone.")
    _draw(tiles, here)
    if without:
        st.caption(f"Without flux, so not on the plane: {plain(', '.join(without))}.")
    st.caption("Boron glazes lie elsewhere than their silica says: point at a tile to see its B₂O₃.")


def _draw(tiles: Sequence[PlanePoint], here: Sequence[PlanePoint]) -> None:
    import plotly.graph_objects as go

    figure = go.Figure()
    for finish, sign in SIGNS.items():
        some = [point for point in tiles if (point.finish or "") == finish]
        if not some:
            continue
        figure.add_scatter(
            x=[p.al2o3 for p in some],
            y=[p.sio2 for p in some],
            mode="markers",
            name=finish or "finish not read",
            marker={"symbol": sign, "size": 11, "color": "#57534e", "line": {"width": 1.5}},
            customdata=[[p.name, p.b2o3] for p in some],
            hovertemplate="%{customdata[0]}<br>Al₂O₃ %{x:.2f}, SiO₂ %{y:.2f}, B₂O₃ %{customdata[1]:.2f}"
            "<extra></extra>",
        )
    figure.add_scatter(
        x=[p.al2o3 for p in here],
        y=[p.sio2 for p in here],
        mode="markers",
        name="this glaze, as it stands above",
        marker={"symbol": "cross-thin-open", "size": 20, "color": ACCENT, "line": {"width": 3}},
    )
    figure.update_layout(
        height=430,
        margin={"l": 50, "r": 10, "t": 10, "b": 45},
        paper_bgcolor="rgba(0,0,0,0)",
        plot_bgcolor="rgba(0,0,0,0)",
        legend={"orientation": "h", "y": -0.18},
        xaxis={"title": "Al₂O₃, moles to 1 of flux", "gridcolor": "rgba(110,98,84,0.2)", "zeroline": False},
        yaxis={"title": "SiO₂, moles to 1 of flux", "gridcolor": "rgba(110,98,84,0.2)", "zeroline": False},
    )
    st.plotly_chart(figure, config={"displayModeBar": False})
