"""What card, chart and labels say before any piece is found: where none lies, how far feet show."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from vision.card import FoundCard
from vision.chart import FoundChart
from vision.labels import Label, label_strip
from vision.plane_height import RaisedPlane
from vision.settings import Settings

__all__ = ["board_of", "foot_below", "keep_out_of"]

Points = NDArray[np.float64]


def board_of(chart: FoundChart, settings: Settings) -> Points:
    """Give the corners of the board a chart's patches are on, (4, 2) photo pixels."""
    middle = chart.corners_px.mean(axis=0)
    return np.asarray(middle + settings.tiles.chart_board_share * (chart.corners_px - middle))


def keep_out_of(
    card: FoundCard | None, chart: FoundChart | None, labels: Sequence[Label], settings: Settings
) -> list[Points]:
    """Give the outlines in which no piece is looked for: card, chart, label strips, (n, 2) photo pixels."""
    keep_out = [card.corners_px] if card is not None else []
    if chart is not None:
        keep_out.append(board_of(chart, settings))
    return keep_out + [label_strip(label, settings.labels) for label in labels]


def foot_below(card: FoundCard | None, raised: RaisedPlane | None) -> Points | None:
    """Give the (3, 3) homography from where a point of a face shows to where the table below it would."""
    return None if card is None or raised is None else np.asarray(card.homography @ raised.to_mm)
