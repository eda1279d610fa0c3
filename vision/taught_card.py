"""What one printed card really looks like: plain numbers, kept by the catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

__all__ = ["TaughtCard"]

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class TaughtCard:
    """What one printed card really looks like.

    Attributes
    ----------
    layout : name of the card's size
    greys : asked L* of a grey of the ramp -> its true CIELAB, D65; both patches of a grey share one ink
    paper : CIELAB of the bare paper
    on : the day it was taught
    residual_delta_e_00 : mean CIEDE2000 left on the chart it was taught from
    """

    layout: str
    greys: Mapping[float, Triple]
    paper: Triple
    on: date
    residual_delta_e_00: float

    def to_dict(self) -> dict[str, Any]:
        """Give its JSON form."""
        return {
            "layout": self.layout,
            "greys": [[asked, *lab] for asked, lab in sorted(self.greys.items())],
            "paper": list(self.paper),
            "date": self.on.isoformat(),
            "residual_delta_e_00": self.residual_delta_e_00,
        }

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> TaughtCard:
        """Read back what `to_dict` gave."""
        greys = {float(row[0]): (float(row[1]), float(row[2]), float(row[3])) for row in data["greys"]}
        light, a_star, b_star = data["paper"]
        on = date.fromisoformat(data["date"])
        return cls(data["layout"], greys, (light, a_star, b_star), on, data["residual_delta_e_00"])
