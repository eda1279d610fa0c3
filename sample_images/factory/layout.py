"""Where tiles, labels, card and chart lie on the bench: one arrangement, framed by one box."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .bench import Frame, lay_rows
from .paper import LABEL_SIZE_MM

__all__ = ["Arrangement", "arrange"]


@dataclass(slots=True)
class Arrangement:
    """Frames of all that lies on the bench, and the box around them.

    Attributes
    ----------
    tiles, labels : a frame each (labels may be empty)
    papers : card and chart by name
    box : left, low, right, top in world mm
    """

    tiles: list[Frame]
    labels: list[Frame]
    box: list[float]
    papers: dict[str, Frame] = field(default_factory=dict)

    def add_paper(
        self, rng: np.random.Generator, name: str, size: tuple[float, float], aspect: float
    ) -> None:
        """Lay a card or chart on the side that keeps the whole nearest to the photo's aspect."""
        (w, h), box = size, self.box
        beside = (box[2] - box[0] + w) / max(box[3] - box[1], h)
        below = max(box[2] - box[0], w) / (box[3] - box[1] + h)
        gap, turn = float(rng.uniform(6, 22)), float(np.clip(rng.normal(0, 5), -14, 14))
        sway = float(np.sin(np.radians(abs(turn))))
        if abs(np.log(beside / aspect)) < abs(np.log(below / aspect)):
            y = box[3] - float(rng.uniform(0, max(0.1, box[3] - box[1] - h)))
            if rng.random() < 0.5:
                self.papers[name] = (box[2] + gap + sway * h, y, 0.2, turn)
                box[2] += gap + w + 2 * sway * h
            else:
                self.papers[name] = (box[0] - gap - w - sway * h, y, 0.2, turn)
                box[0] -= gap + w + 2 * sway * h
            box[1] = min(box[1], y - h - sway * w)
            box[3] = max(box[3], y + sway * w)
        else:
            x = box[0] + float(rng.uniform(0, max(0.1, box[2] - box[0] - w)))
            self.papers[name] = (x, box[1] - gap - sway * w, 0.2, turn)
            box[1] -= gap + h + 2 * sway * w
            box[2] = max(box[2], x + w)


def arrange(
    rng: np.random.Generator, sizes: list[tuple[float, float]], columns: int, gap_mm: float, labelled: bool
) -> Arrangement:
    """Lay tiles in rows, each with its label strip below where `labelled`.

    Parameters
    ----------
    rng : seeded generator
    sizes : width and height of each tile, mm
    columns : tiles in a row
    gap_mm : nominal gap between tiles
    """
    room = LABEL_SIZE_MM[1] + 9 if labelled else 0.0
    frames, (wide, tall) = lay_rows(rng, [(w, h + room) for w, h in sizes], columns, gap_mm)
    labels: list[Frame] = []
    if labelled:
        for (x, y, _, turn), (w, h) in zip(frames, sizes, strict=True):
            t = np.radians(turn)
            across, down = (
                float(rng.uniform(0, max(1.0, w - LABEL_SIZE_MM[0]))),
                h + float(rng.uniform(4.5, 7.5)),
            )
            place = (x + np.cos(t) * across + np.sin(t) * down, y + np.sin(t) * across - np.cos(t) * down)
            labels.append((float(place[0]), float(place[1]), 0.15, turn + float(rng.normal(0, 3))))
    return Arrangement(frames, labels, [0.0, -tall, wide, 0.0])
