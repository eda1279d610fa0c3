"""The JSON form of colours by place; readings kept before there were any have none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from vision.reading import EdgeBreak, FaceColours, Gradient, Lab, Opacity, ThickThin

__all__ = ["face_from_dict", "face_to_dict"]


def _lab(lab: Lab) -> list[float]:
    return [round(float(v), 2) for v in lab.as_tuple()]


def face_to_dict(places: FaceColours) -> dict[str, Any]:
    """Give the JSON form; what could not be measured is null."""
    gradient, edges, thick_thin, opacity = places.gradient, places.edges, places.thick_thin, places.opacity
    return {
        "gradient": None if gradient is None else _gradient(gradient),
        "edges": None
        if edges is None
        else {"field": _lab(edges.field), "edge": _lab(edges.edge), **_apart(edges), "sides": edges.sides},
        "thick_thin": None
        if thick_thin is None
        else {
            "thick": _lab(thick_thin.thick),
            "thin": _lab(thick_thin.thin),
            "thick_where": thick_thin.thick_where,
            "thin_where": thick_thin.thin_where,
            **_apart(thick_thin),
        },
        "opacity": None
        if opacity is None
        else {
            "contrast_ratio": round(opacity.contrast_ratio, 4),
            "contrast_ratio_sd": round(opacity.contrast_ratio_sd, 4),
            "hides_probability": round(opacity.hides_probability, 3),
            "stripe_px": [[round(x, 1), round(y, 1)] for x, y in opacity.stripe_px],
            "by_hand": opacity.by_hand,
        },
    }


def _gradient(gradient: Gradient) -> dict[str, Any]:
    # what is told per centimetre follows from the rounded figures, so that a kept reading says the same again
    height = None if gradient.height_cm is None else round(gradient.height_cm, 2)
    change, doubt = ([round(v, 2) for v in three] for three in (gradient.change, gradient.change_sd))
    return {
        "top": _lab(gradient.top),
        "bottom": _lab(gradient.bottom),
        "change": change,
        "change_sd": doubt,
        "height_cm": height,
        "change_per_cm": None if not height else [round(v / height, 3) for v in change],
        "change_per_cm_sd": None if not height else [round(v / height, 3) for v in doubt],
        **_apart(gradient),
    }


def _apart(measured: Gradient | EdgeBreak | ThickThin) -> dict[str, float]:
    return {
        "delta_e_00": round(measured.delta_e_00, 2),
        "delta_e_00_sd": round(measured.delta_e_00_sd, 2),
    }


def face_from_dict(data: Mapping[str, Any] | None) -> FaceColours:
    """Read back what `face_to_dict` gave."""
    if data is None:
        return FaceColours()
    gradient, edges = data.get("gradient"), data.get("edges")
    thick_thin, opacity = data.get("thick_thin"), data.get("opacity")
    return FaceColours(
        gradient=None
        if gradient is None
        else Gradient(
            Lab(*gradient["top"]),
            Lab(*gradient["bottom"]),
            _three(gradient["change"]),
            _three(gradient["change_sd"]),
            gradient["height_cm"],
            gradient["delta_e_00"],
            gradient["delta_e_00_sd"],
        ),
        edges=None
        if edges is None
        else EdgeBreak(
            Lab(*edges["field"]),
            Lab(*edges["edge"]),
            edges["delta_e_00"],
            edges["delta_e_00_sd"],
            edges["sides"],
        ),
        thick_thin=None
        if thick_thin is None
        else ThickThin(
            Lab(*thick_thin["thick"]),
            Lab(*thick_thin["thin"]),
            thick_thin["thick_where"],
            thick_thin["thin_where"],
            thick_thin["delta_e_00"],
            thick_thin["delta_e_00_sd"],
        ),
        opacity=None
        if opacity is None
        else Opacity(
            opacity["contrast_ratio"],
            opacity["contrast_ratio_sd"],
            opacity["hides_probability"],
            tuple((x, y) for x, y in opacity["stripe_px"]),
            opacity["by_hand"],
        ),
    )


def _three(values: list[float]) -> tuple[float, float, float]:
    return values[0], values[1], values[2]
