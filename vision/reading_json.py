"""The JSON form of a reading, as ``glostbook read --json`` prints it and a catalogue keeps it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from vision.face_json import face_from_dict, face_to_dict
from vision.rating import rating_to_dict
from vision.reading import (
    BodyColour,
    Crawling,
    Crazing,
    FaultCall,
    Finish,
    Flag,
    GlazeColour,
    Gloss,
    Lab,
    Mark,
    MarkKind,
    PaletteEntry,
    PhotoBeside,
    PhotoReading,
    PlaneHeight,
    Subject,
    Taught,
    TileReading,
)
from vision.running_json import running_from_dict, running_to_dict

__all__ = [
    "beside_from_dict",
    "beside_to_dict",
    "reading_to_dict",
    "taught_from_dict",
    "taught_to_dict",
    "tile_from_dict",
    "tile_to_dict",
]


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(float(value), digits)


def _rounded_all(values: tuple[float, ...] | None, digits: int) -> list[float] | None:
    return None if values is None else [round(float(v), digits) for v in values]


def _lab_list(lab: Lab) -> list[float]:
    return [round(float(v), 2) for v in lab.as_tuple()]


def tile_to_dict(tile: TileReading) -> dict[str, Any]:
    """Give the JSON form of one tile, as ``glostbook read --json`` prints it."""
    glaze = None
    if tile.glaze is not None:
        glaze = {
            "lab": _lab_list(tile.glaze.lab),
            "lab_sd": [round(float(v), 2) for v in tile.glaze.lab_sd],
            "palette": [
                {"lab": _lab_list(p.lab), "fraction": round(float(p.fraction), 4)} for p in tile.glaze.palette
            ],
            "area_cm2": _rounded(tile.glaze.area_cm2, 2),
        }
    body = None
    if tile.body is not None:
        body = {"lab": _lab_list(tile.body.lab), "area_cm2": _rounded(tile.body.area_cm2, 2)}
    return {
        "subject": str(tile.subject),
        "outline_px": [[round(float(x), 1), round(float(y), 1)] for x, y in tile.outline_px],
        "label": tile.label,
        "width_mm": _rounded(tile.width_mm, 2),
        "height_mm": _rounded(tile.height_mm, 2),
        "view_mm_per_px": _rounded(tile.view_mm_per_px, 5),
        "smallest_mark_mm": _rounded(tile.smallest_mark_mm, 3),
        "glaze": glaze,
        "body": body,
        "gloss": {
            "proxy": _rounded(tile.gloss.proxy, 3),
            "finish": None if tile.gloss.finish is None else str(tile.gloss.finish),
            "probability": _rounded(tile.gloss.probability, 3),
        },
        "marks": [
            {
                "kind": str(m.kind),
                "x_mm": _rounded(m.x_mm, 2),
                "y_mm": _rounded(m.y_mm, 2),
                "diameter_mm": _rounded(m.diameter_mm, 3),
                "x_px": _rounded(m.x_px, 1),
                "y_px": _rounded(m.y_px, 1),
                "diameter_px": _rounded(m.diameter_px, 1),
                "probability": _rounded(m.probability, 3),
            }
            for m in tile.marks
        ],
        "density_per_cm2": {k: _rounded(v, 4) for k, v in tile.density_per_cm2.items()},
        "crazing": {
            "present": tile.crazing.present,
            "probability": _rounded(tile.crazing.probability, 3),
            "length_mm_per_cm2": _rounded(tile.crazing.length_mm_per_cm2, 2),
            "cell_mm": _rounded(tile.crazing.cell_mm, 2),
            "cell_quartiles_mm": _rounded_all(tile.crazing.cell_quartiles_mm, 2),
            "direction_deg": _rounded(tile.crazing.direction_deg, 1),
            "direction_strength": _rounded(tile.crazing.direction_strength, 3),
            "direction_shares": _rounded_all(tile.crazing.direction_shares, 3),
        },
        "crawling": {
            "present": tile.crawling.present,
            "probability": _rounded(tile.crawling.probability, 3),
            "area_fraction": _rounded(tile.crawling.area_fraction, 4),
            "spots": tile.crawling.spots,
        },
        "faults": [{"fault": f.fault, "probability": _rounded(f.probability, 3)} for f in tile.faults],
        "flags": [str(f) for f in tile.flags],
        "outlined_by_hand": tile.outlined_by_hand,
        "beside_sha256": tile.beside_sha256,
        "face_colours": face_to_dict(tile.face_colours),
        "running": running_to_dict(tile.running),
        "rating": rating_to_dict(tile),
        "plane_height": _plane_height(tile.plane_height),
    }


def _plane_height(height: PlaneHeight | None) -> dict[str, Any] | None:
    if height is None:
        return None
    return {
        "thickness_mm": round(height.thickness_mm, 2),
        "thickness_given": height.thickness_given,
        "camera_mm": round(height.camera_mm, 1),
        "focal_given": height.focal_given,
        "size_doubt": round(height.size_doubt, 5),
    }


def _crazing(data: Mapping[str, Any]) -> Crazing:
    """Read a net back; readings kept before nets had directions and quartiles have none."""
    quartiles, shares = data.get("cell_quartiles_mm"), data.get("direction_shares")
    return Crazing(
        data["present"],
        data["probability"],
        data.get("length_mm_per_cm2"),
        data.get("cell_mm"),
        None if quartiles is None else (quartiles[0], quartiles[1], quartiles[2]),
        data.get("direction_deg"),
        data.get("direction_strength"),
        None if shares is None else tuple(shares),
    )


def tile_from_dict(data: dict[str, Any]) -> TileReading:
    """Read back what `tile_to_dict` gave (used when a kept reading is loaded)."""
    glaze = None
    if data["glaze"] is not None:
        g = data["glaze"]
        sd = g["lab_sd"]
        glaze = GlazeColour(
            lab=Lab(*g["lab"]),
            lab_sd=(sd[0], sd[1], sd[2]),
            palette=tuple(PaletteEntry(Lab(*p["lab"]), p["fraction"]) for p in g["palette"]),
            area_cm2=g["area_cm2"],
        )
    body = None
    if data["body"] is not None:
        body = BodyColour(Lab(*data["body"]["lab"]), data["body"]["area_cm2"])
    finish = data["gloss"]["finish"]
    return TileReading(
        subject=Subject(data["subject"]),
        outline_px=tuple((p[0], p[1]) for p in data["outline_px"]),
        label=data["label"],
        width_mm=data["width_mm"],
        height_mm=data["height_mm"],
        view_mm_per_px=data["view_mm_per_px"],
        smallest_mark_mm=data["smallest_mark_mm"],
        glaze=glaze,
        body=body,
        gloss=Gloss(
            data["gloss"]["proxy"], None if finish is None else Finish(finish), data["gloss"]["probability"]
        ),
        marks=tuple(
            Mark(
                kind=MarkKind(m["kind"]),
                x_px=m["x_px"],
                y_px=m["y_px"],
                diameter_px=m["diameter_px"],
                probability=m["probability"],
                x_mm=m["x_mm"],
                y_mm=m["y_mm"],
                diameter_mm=m["diameter_mm"],
            )
            for m in data["marks"]
        ),
        density_per_cm2=dict(data["density_per_cm2"]),
        crazing=_crazing(data["crazing"]),
        crawling=Crawling(**data["crawling"]),
        faults=tuple(FaultCall(f["fault"], f["probability"]) for f in data["faults"]),
        flags=tuple(Flag(f) for f in data["flags"]),
        outlined_by_hand=data.get("outlined_by_hand", False),
        beside_sha256=data.get("beside_sha256"),
        face_colours=face_from_dict(data.get("face_colours")),
        running=running_from_dict(data.get("running")),
        plane_height=None if data.get("plane_height") is None else PlaneHeight(**data["plane_height"]),
    )


def reading_to_dict(reading: PhotoReading) -> dict[str, Any]:
    """Give the JSON form of one photo's reading, as ``glostbook read --json`` prints it."""
    return {
        "photo": reading.photo,
        "sha256": reading.sha256,
        "error": reading.error,
        "calibration": {
            "kind": str(reading.calibration.kind),
            "mm_per_px": _rounded(reading.calibration.mm_per_px, 5),
            "residual_delta_e_00": _rounded(reading.calibration.residual_delta_e_00, 2),
            "taught": taught_to_dict(reading.calibration.taught),
        },
        "flags": [str(f) for f in reading.flags],
        "method": dict(reading.method),
        "beside": beside_to_dict(reading.beside),
        "tiles": [tile_to_dict(t) for t in reading.tiles],
    }


def beside_to_dict(beside: PhotoBeside | None) -> dict[str, str] | None:
    """Give the JSON form of the second photo that a reading rests on."""
    return None if beside is None else {"photo": beside.photo, "sha256": beside.sha256}


def beside_from_dict(data: Mapping[str, str] | None) -> PhotoBeside | None:
    """Read back what `beside_to_dict` gave."""
    return None if data is None else PhotoBeside(data["photo"], data["sha256"])


def taught_to_dict(taught: Taught | None) -> dict[str, Any] | None:
    """Give the JSON form of the teaching that a card's colours rest on."""
    if taught is None:
        return None
    return {
        "date": taught.on.isoformat(),
        "residual_delta_e_00": _rounded(taught.residual_delta_e_00, 2),
        "age_days": taught.age_days,
    }


def taught_from_dict(data: Mapping[str, Any] | None) -> Taught | None:
    """Read back what `taught_to_dict` gave."""
    if data is None:
        return None
    return Taught(date.fromisoformat(data["date"]), data["residual_delta_e_00"], data["age_days"])
