"""The JSON form of runs and pooling; readings kept before they were measured have none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from vision.reading import Lab, Pool, Running

__all__ = ["running_from_dict", "running_to_dict"]


def _lab(lab: Lab) -> list[float]:
    return [round(float(v), 2) for v in lab.as_tuple()]


def running_to_dict(running: Running | None) -> dict[str, Any] | None:
    """Give the JSON form; null where there is no bare foot to run onto."""
    if running is None:
        return None
    longest, doubt, pool = running.longest_mm, running.longest_sd_mm, running.pool
    return {
        "present": running.present,
        "runs": running.runs,
        "longest_mm": None if longest is None else round(longest, 2),
        "longest_sd_mm": None if doubt is None else round(doubt, 2),
        "longest_px": round(running.longest_px, 1),
        "width_share": round(running.width_share, 3),
        "reaches_end": running.reaches_end,
        "toward": running.toward,
        "pool": None
        if pool is None
        else {
            "pooled": _lab(pool.pooled),
            "field": _lab(pool.field),
            "delta_e_00": round(pool.delta_e_00, 2),
            "delta_e_00_sd": round(pool.delta_e_00_sd, 2),
        },
    }


def running_from_dict(data: Mapping[str, Any] | None) -> Running | None:
    """Read back what `running_to_dict` gave."""
    if data is None:
        return None
    pool = data["pool"]
    return Running(
        **{key: value for key, value in data.items() if key != "pool"},
        pool=None
        if pool is None
        else Pool(Lab(*pool["pooled"]), Lab(*pool["field"]), pool["delta_e_00"], pool["delta_e_00_sd"]),
    )
