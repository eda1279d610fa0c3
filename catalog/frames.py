"""The catalogue as pandas frames: a row a piece, reading, mark, colour, layer, recipe, load, clay, word.

Units stand in the columns' names; a value that was not measured or not said is missing, never zero. Frames
join on ``piece``, ``reading``, ``recipe``, ``load``, ``body`` and ``trial``.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from catalog.faults import effective_faults
from catalog.glaze.errors import GlazeError
from catalog.glaze.formula import formula_of
from catalog.records import KeptReading, Piece
from catalog.shop_frames import SHOP_FRAMES, shop_rows
from catalog.store import Catalog

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["FRAMES", "frame", "frames"]

Rows = list[dict[str, Any]]


def frames(catalog: Catalog) -> dict[str, pd.DataFrame]:
    """Give all frames by name, see `FRAMES`."""
    import pandas as pd

    pieces = catalog.pieces(order="code")
    made: dict[str, Rows] = {
        "pieces": [_piece(piece) for piece in pieces],
        "readings": [_reading(piece, reading) for piece, reading in _readings(pieces)],
        "marks": [row for piece, reading in _readings(pieces) for row in _marks(piece, reading)],
        "palette": [row for piece, reading in _readings(pieces) for row in _palette(piece, reading)],
        "layers": [row for piece in pieces for row in _layers(piece)],
        "recipes": _recipes(catalog),
        "recipe_lines": _recipe_lines(catalog),
        "loads": _loads(catalog),
        "cones": _cones(catalog),
        "faults": [row for piece in pieces for row in _faults(piece)],
        "outcomes": _outcomes(catalog),
        "trials": _trials(catalog),
        **shop_rows(catalog, pieces),
    }
    return {name: pd.DataFrame(made[name], columns=columns) for name, columns in FRAMES.items()}


def frame(catalog: Catalog, name: str) -> pd.DataFrame:
    """Give one frame.

    Raises
    ------
    KeyError : no frame has this name.
    """
    if name not in FRAMES:
        raise KeyError(f"no frame {name!r}; there are {', '.join(FRAMES)}")
    return frames(catalog)[name]


_OXIDES = (
    "SiO2", "Al2O3", "B2O3", "Na2O", "K2O", "Li2O", "CaO", "MgO", "SrO", "BaO", "ZnO", "Fe2O3", "TiO2", "P2O5"
)  # fmt: skip

FRAMES: dict[str, list[str]] = {
    "pieces": ["piece", "kind", "body", "load", "shelf", "filed_at", "layers", "readings", "faults", "notes"],
    "readings": [
        "reading", "piece", "photo_sha256", "tile_index", "read_at", "superseded", "calibration", "mm_per_px",
        "residual_delta_e_00", "subject", "width_mm", "height_mm", "lightness", "a_star", "b_star",
        "lightness_sd", "a_star_sd", "b_star_sd", "glaze_area_cm2", "gloss_proxy", "finish",
        "finish_probability", "pinhole_per_cm2", "blister_per_cm2", "crater_per_cm2", "speck_per_cm2",
        "crazed", "crazed_probability", "craze_mm_per_cm2", "craze_cell_mm", "crawled", "crawled_probability",
        "crawled_fraction", "smallest_mark_mm",
    ],
    "marks": [
        "reading", "piece", "kind", "x_mm", "y_mm", "diameter_mm", "x_px", "y_px", "diameter_px",
        "probability",
    ],
    "palette": ["reading", "piece", "lightness", "a_star", "b_star", "fraction"],
    "layers": ["piece", "position", "recipe", "glaze", "coats", "method", "raw_thickness_mm"],
    "recipes": [
        "recipe", "glaze", "revision", "cone_low", "cone_high", *(f"{oxide}_unity" for oxide in _OXIDES),
        "loss_on_ignition_pct",
    ],
    "recipe_lines": ["recipe", "glaze", "revision", "material", "amount", "addition"],
    "loads": ["load", "name", "kind", "kiln", "fired_on", "cone_aimed", "atmosphere"],
    "cones": ["load", "shelf", "cone"],
    "faults": ["piece", "fault", "probability", "by"],
    "outcomes": ["outcome", "piece", "studio", "fault", "cause", "verdict", "said_on"],
    "trials": ["trial", "piece", "fault", "cause", "prediction", "outcome", "planned_at"],
    **SHOP_FRAMES,
}  # fmt: skip
"""Frame -> its columns. ``_unity``: moles for one mole of fluxes (Seger); missing with unknown materials."""


def _readings(pieces: Iterable[Piece]) -> list[tuple[Piece, KeptReading]]:
    return [(piece, reading) for piece in pieces for reading in piece.readings]


def _piece(piece: Piece) -> dict[str, Any]:
    return {
        "piece": piece.code,
        "kind": piece.kind,
        "body": None if piece.body is None else piece.body.name,
        "load": None if piece.load is None else piece.load.id,
        "shelf": piece.shelf,
        "filed_at": piece.filed_at,
        "layers": " under ".join(layer.name for layer in piece.layers),
        "readings": len(piece.readings),
        "faults": ", ".join(fault.fault for fault in effective_faults(piece)),
        "notes": piece.notes,
    }


def _reading(piece: Piece, reading: KeptReading) -> dict[str, Any]:
    tile, glaze = reading.tile, reading.tile.glaze
    row: dict[str, Any] = {
        "reading": reading.id,
        "piece": piece.code,
        "photo_sha256": reading.photo_sha256,
        "tile_index": reading.tile_index,
        "read_at": reading.read_at,
        "superseded": reading.superseded,
        "calibration": reading.calibration_kind,
        "mm_per_px": reading.mm_per_px,
        "residual_delta_e_00": reading.residual_delta_e_00,
        "subject": str(tile.subject),
        "width_mm": tile.width_mm,
        "height_mm": tile.height_mm,
        "gloss_proxy": tile.gloss.proxy,
        "finish": None if tile.gloss.finish is None else str(tile.gloss.finish),
        "finish_probability": tile.gloss.probability,
        "crazed": tile.crazing.present,
        "crazed_probability": tile.crazing.probability,
        "craze_mm_per_cm2": tile.crazing.length_mm_per_cm2,
        "craze_cell_mm": tile.crazing.cell_mm,
        "crawled": tile.crawling.present,
        "crawled_probability": tile.crawling.probability,
        "crawled_fraction": tile.crawling.area_fraction,
        "smallest_mark_mm": tile.smallest_mark_mm,
    }
    row |= {f"{kind}_per_cm2": density for kind, density in tile.density_per_cm2.items()}
    if glaze is not None:
        names = ("lightness", "a_star", "b_star")
        row |= dict(zip(names, glaze.lab.as_tuple(), strict=True))
        row |= {f"{name}_sd": sd for name, sd in zip(names, glaze.lab_sd, strict=True)}
        row["glaze_area_cm2"] = glaze.area_cm2
    return row


def _marks(piece: Piece, reading: KeptReading) -> Rows:
    return [
        {
            "reading": reading.id,
            "piece": piece.code,
            "kind": str(mark.kind),
            "x_mm": mark.x_mm,
            "y_mm": mark.y_mm,
            "diameter_mm": mark.diameter_mm,
            "x_px": mark.x_px,
            "y_px": mark.y_px,
            "diameter_px": mark.diameter_px,
            "probability": mark.probability,
        }
        for mark in reading.tile.marks
    ]


def _palette(piece: Piece, reading: KeptReading) -> Rows:
    glaze = reading.tile.glaze
    return [
        {
            "reading": reading.id,
            "piece": piece.code,
            "lightness": entry.lab.lightness,
            "a_star": entry.lab.a_star,
            "b_star": entry.lab.b_star,
            "fraction": entry.fraction,
        }
        for entry in (() if glaze is None else glaze.palette)
    ]


def _layers(piece: Piece) -> Rows:
    return [
        {
            "piece": piece.code,
            "position": position,
            "recipe": layer.recipe_id,
            "glaze": layer.name,
            "coats": layer.coats,
            "method": layer.method,
            "raw_thickness_mm": layer.raw_thickness_mm,
        }
        for position, layer in enumerate(piece.layers)
    ]


def _recipes(catalog: Catalog) -> Rows:
    rows: Rows = []
    for recipe in catalog.recipes(latest_only=False):
        row: dict[str, Any] = {
            "recipe": recipe.id,
            "glaze": recipe.name,
            "revision": recipe.revision,
            "cone_low": recipe.cone_low,
            "cone_high": recipe.cone_high,
        }
        try:
            formula = formula_of(recipe.lines)
        except GlazeError:
            rows.append(row)
            continue
        if formula.unity is not None:
            row |= {f"{oxide}_unity": formula.unity.get(oxide, 0.0) for oxide in _OXIDES}
        row["loss_on_ignition_pct"] = formula.loi_pct
        rows.append(row)
    return rows


def _recipe_lines(catalog: Catalog) -> Rows:
    return [
        {
            "recipe": recipe.id,
            "glaze": recipe.name,
            "revision": recipe.revision,
            "material": line.material,
            "amount": line.amount,
            "addition": line.addition,
        }
        for recipe in catalog.recipes(latest_only=False)
        for line in recipe.lines
    ]


def _loads(catalog: Catalog) -> Rows:
    return [
        {
            "load": load.id,
            "name": load.name,
            "kind": load.kind,
            "kiln": load.kiln,
            "fired_on": load.fired_on,
            "cone_aimed": load.cone_aimed,
            "atmosphere": load.atmosphere,
        }
        for load in catalog.loads()
    ]


def _cones(catalog: Catalog) -> Rows:
    return [
        {"load": load.id, "shelf": result.shelf, "cone": result.cone}
        for load in catalog.loads()
        for result in load.cones
    ]


def _faults(piece: Piece) -> Rows:
    return [
        {"piece": piece.code, "fault": fault.fault, "probability": fault.probability, "by": fault.by}
        for fault in effective_faults(piece)
    ]


def _outcomes(catalog: Catalog) -> Rows:
    return [
        {
            "outcome": kept.id,
            "piece": kept.code,
            "studio": kept.studio,
            "fault": kept.outcome.fault,
            "cause": kept.outcome.pair_id,
            "verdict": kept.outcome.verdict,
            "said_on": kept.outcome.said_on,
        }
        for kept in catalog.casebook.outcomes()
    ]


def _trials(catalog: Catalog) -> Rows:
    return [
        {
            "trial": trial.id,
            "piece": trial.code,
            "fault": trial.fault,
            "cause": trial.pair_id,
            "prediction": trial.prediction,
            "outcome": trial.outcome,
            "planned_at": trial.planned_at,
        }
        for trial in catalog.casebook.trials()
    ]
