"""Rows of the frames about kilns, clays, ware and trials: plans, logs, witnesses, measures, holders."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from catalog.body.measures import BodyKnowledge
from catalog.records import Piece
from catalog.store import Catalog

__all__ = ["SHOP_FRAMES", "shop_rows"]

Rows = list[dict[str, Any]]

SHOP_FRAMES: dict[str, list[str]] = {
    "schedules": ["load", "position", "rate_c_per_h", "target_c", "hold_min"],
    "logs": ["load", "time_h", "temperature_c"],
    "witnesses": ["load", "shelf", "cone", "form", "angle_deg", "note"],
    "bodies": [
        "body", "kind", "rated_cone", "absorption_pct", "open_porosity_pct", "drying_shrinkage_pct",
        "firing_shrinkage_pct", "total_shrinkage_pct", "expansion_per_k", "bisque_low", "bisque_high",
        "glaze_low", "glaze_high", "notes",
    ],
    "body_measures": ["measure", "body", "kind", "cone", "measured_on", "figure", "value", "note"],
    "ware": ["piece", "body", "load", "shelf", "side", "layers", "holder", "since", "note"],
    "trial_pieces": ["trial", "piece", "side", "shows_if_so"],
}  # fmt: skip
"""Frame -> its columns. ``logs`` is each load's measured course, ``schedules`` what was planned.

``ware`` holds every piece made for use. Its holder may name a person: think before handing it on.
"""


def shop_rows(catalog: Catalog, pieces: Iterable[Piece]) -> dict[str, Rows]:
    """Give the rows of each of `SHOP_FRAMES`.

    Parameters
    ----------
    pieces : those on the shelf
    """
    loads = catalog.loads()
    return {
        "schedules": [
            {"load": load.id, "position": position, **asdict(segment)}
            for load in loads
            for position, segment in enumerate(load.schedule)
        ],
        "logs": [
            {"load": load_id, "time_h": time_h, "temperature_c": temperature_c}
            for load_id, path in sorted(catalog.workshop.courses().items())
            for time_h, temperature_c in zip(path.time_h.tolist(), path.temperature_c.tolist(), strict=True)
        ],
        "witnesses": [
            {"load": load.id, **asdict(found)}
            for load in loads
            for found in catalog.workshop.witnesses(load.id)
        ],
        "bodies": _bodies(catalog),
        "body_measures": _measures(catalog),
        "ware": _ware(catalog, pieces),
        "trial_pieces": [
            {"trial": trial.id, "piece": part.code, "side": part.side, "shows_if_so": part.shows_if_so}
            for trial in catalog.casebook.trials()
            for part in trial.pieces
        ],
    }


def _bodies(catalog: Catalog) -> Rows:
    rows = []
    for body in catalog.bodies():
        known = catalog.workshop.body_knowledge(body.id)
        row: dict[str, Any] = {
            "body": body.name,
            "kind": body.kind,
            "rated_cone": body.rated_cone,
            "absorption_pct": body.absorption_pct,
            "notes": body.notes,
            **known.ranges,
        }
        rows.append(row | _measured(known))
    return rows


def _measured(known: BodyKnowledge) -> dict[str, Any]:
    """Give what was measured of a clay; the studio's own absorption stands before the one on the bag."""
    row: dict[str, Any] = {}
    if known.absorption is not None:
        row["absorption_pct"] = known.absorption.pct
        row["open_porosity_pct"] = known.absorption.open_porosity_pct
    if known.expansion is not None:
        row["expansion_per_k"] = known.expansion.per_k
    if known.shrinkage is not None:
        for name in ("drying", "firing", "total"):
            step = getattr(known.shrinkage, name)
            row[f"{name}_shrinkage_pct"] = None if step is None else step.pct
    return row


def _measures(catalog: Catalog) -> Rows:
    """Give each figure as it was typed, a row each; a figure of many is named by where it stands."""
    return [
        {
            "measure": measure.id,
            "body": body.name,
            "kind": measure.kind,
            "cone": measure.cone,
            "measured_on": measure.measured_on,
            "figure": figure,
            "value": value,
            "note": measure.note,
        }
        for body in catalog.bodies()
        for measure in catalog.workshop.body_measures(body.id)
        for figure, value in _flat("", measure.figures)
    ]


def _flat(name: str, value: Any) -> list[tuple[str, Any]]:
    if isinstance(value, dict):
        parts: Iterable[tuple[Any, Any]] = value.items()
    elif isinstance(value, (list, tuple)):
        parts = enumerate(value, start=1)
    else:
        return [] if value is None else [(name, value)]
    return [found for key, part in parts for found in _flat(f"{name} {key}".strip(), part)]


def _ware(catalog: Catalog, pieces: Iterable[Piece]) -> Rows:
    holders, sides = catalog.ware.holders(), catalog.ware.sides()
    rows = []
    for piece in pieces:
        if piece.kind != "ware":
            continue
        held = holders.get(piece.code)
        rows.append(
            {
                "piece": piece.code,
                "body": None if piece.body is None else piece.body.name,
                "load": None if piece.load is None else piece.load.id,
                "shelf": piece.shelf,
                "side": sides.get(piece.code),
                "layers": " under ".join(layer.name for layer in piece.layers),
                "holder": None if held is None else held.holder,
                "since": None if held is None else held.since,
                "note": None if held is None else held.note,
            }
        )
    return rows
