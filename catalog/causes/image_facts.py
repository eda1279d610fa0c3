"""Facts that a reading answers: sizes, density and spread of the marks, finish, craze net, bare area."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

import numpy as np

from catalog.causes.fact import Fact, Origin
from catalog.records import KeptReading, Piece
from vision.reading import Mark, MarkKind, TileReading

__all__ = ["MARKS_OF_FAULT", "best_reading", "clark_evans", "counted_marks", "image_facts"]

MARKS_OF_FAULT: dict[str, tuple[MarkKind, ...]] = {
    "pinhole": (MarkKind.PINHOLE,),
    "pit_dimple": (MarkKind.PINHOLE,),
    "blister": (MarkKind.BLISTER, MarkKind.CRATER),
    "crater": (MarkKind.BLISTER, MarkKind.CRATER),
    "speck_dark": (MarkKind.SPECK,),
    "speck_foreign": (MarkKind.SPECK,),
}
"""Which marks are counted for which fault; a crater is a blister that broke."""

_LIKELY = 0.5
"""A mark or a call counts from this probability on."""

_FEW_MARKS, _MANY_MARKS = 8, 30
"""Fewer marks than the first say nothing of their spread; from the second on the spread counts in full."""

_EDGE_MM = 5.0
"""Width of the band along the edge (the vocabulary's definition)."""

_FINISH_SURE = 0.6
"""Least probability of the finish class that is taken as a fact."""


def best_reading(piece: Piece, fault_words: Sequence[str]) -> KeptReading | None:
    """Give the reading that shows a fault: the newest in force that calls it, else the newest in force."""
    current = [reading for reading in piece.readings if not reading.superseded]
    for reading in current:
        calls = {call.fault for call in reading.tile.faults if call.probability >= _LIKELY}
        if calls & set(fault_words):
            return reading
    return current[0] if current else None


def counted_marks(tile: TileReading, fault: str) -> list[Mark]:
    """Give the marks of a reading that count for a fault."""
    kinds = MARKS_OF_FAULT.get(fault, ())
    return [mark for mark in tile.marks if mark.kind in kinds and mark.probability >= _LIKELY]


def clark_evans(points_mm: Sequence[tuple[float, float]], area_mm2: float, perimeter_mm: float) -> float:
    """Give the mean nearest-neighbour distance over that of random points in the same area.

    Parameters
    ----------
    points_mm : sequence of (x, y)
        Two or more.
    area_mm2, perimeter_mm : float
        Of the area looked at.

    Returns
    -------
    float
        Under 1 clustered, near 1 random, above 1 regular.

    Notes
    -----
    Clark & Evans (1954) with the edge correction of Donnelly (1978), both from memory.
    """
    points = np.asarray(points_mm, dtype=np.float64)
    count = len(points)
    distances = np.hypot(*(points[:, None, axis] - points[None, :, axis] for axis in (0, 1)))
    np.fill_diagonal(distances, np.inf)
    mean = float(distances.min(axis=1).mean())
    expected = 0.5 * math.sqrt(area_mm2 / count)
    expected += (0.0514 + 0.041 / math.sqrt(count)) * perimeter_mm / count
    return mean / expected


def image_facts(piece: Piece, fault: str, fault_words: Sequence[str]) -> dict[str, Fact]:
    """Give the facts that a piece's readings answer about a fault.

    Parameters
    ----------
    piece : Piece
    fault : str
        The fault's own name.
    fault_words : sequence of str
        Words under which a reading may call it ("blistered", ...).

    Returns
    -------
    dict of str to Fact
        Only what was measured; without scale no sizes and densities.
    """
    reading = best_reading(piece, fault_words)
    if reading is None:
        return {}
    tile = reading.tile
    facts: list[Fact] = [*_finish(tile)]
    if fault in MARKS_OF_FAULT:
        facts += _marks(tile, fault)
    if fault == "craze" and tile.crazing.present and tile.crazing.cell_mm is not None:
        cell = tile.crazing.cell_mm
        facts.append(_measured("image.craze_cell_mm", cell, f"The craze net's cells measure {cell:.1f} mm"))
    if fault in ("crawl", "thin_skip") and (tile.crawling.present or tile.crawling.spots == 0):
        bare = 100.0 * tile.crawling.area_fraction
        text = f"Bare body shows on {bare:.1f} % of the glazed area"
        facts.append(_measured("image.bare_area_pct", bare, text))
    return {fact.key: fact for fact in facts}


def _measured(key: str, value: float | str, sentence: str, certainty: float = 1.0) -> Fact:
    return Fact(key, value, Origin.MEASURED, sentence, certainty)


def _finish(tile: TileReading) -> list[Fact]:
    finish, probability = tile.gloss.finish, tile.gloss.probability
    if finish is None or probability is None or probability < _FINISH_SURE:
        return []
    return [_measured("image.gloss", str(finish), f"The finish reads as {finish}", probability)]


def _marks(tile: TileReading, fault: str) -> list[Fact]:
    marks = counted_marks(tile, fault)
    kinds = MARKS_OF_FAULT[fault]
    facts: list[Fact] = []
    densities = [tile.density_per_cm2.get(str(kind)) for kind in kinds]
    known = [density for density in densities if density is not None]
    if known:
        density = sum(known)
        text = f"{density:.2g} marks stand on a square centimetre of glaze"
        facts.append(_measured("image.density_per_cm2", density, text))
    diameters = sorted(mark.diameter_mm for mark in marks if mark.diameter_mm is not None)
    if diameters:
        median = statistics.median(diameters)
        high = float(np.percentile(diameters, 95))
        key = "image.speck_diam_mm" if fault.startswith("speck") else "image.defect_diam_mm"
        facts.append(_measured(key, median, f"The marks' median diameter is {median:.2f} mm"))
        if len(diameters) >= _FEW_MARKS:
            text = f"95 % of the marks are smaller than {high:.2f} mm"
            facts.append(_measured("image.defect_diam_p95_mm", high, text))
    if MarkKind.BLISTER in kinds and len(marks) >= _FEW_MARKS:
        domes = sum(mark.kind is MarkKind.BLISTER for mark in marks) / len(marks)
        text = f"{100.0 * domes:.0f} % of the {len(marks)} marks are closed domes"
        facts.append(_measured("image.domes_share", domes, text))
    return facts + _spread(tile, marks)


def _spread(tile: TileReading, marks: Sequence[Mark]) -> list[Fact]:
    points = [(m.x_mm, m.y_mm) for m in marks if m.x_mm is not None and m.y_mm is not None]
    area = None if tile.glaze is None else tile.glaze.area_cm2
    if len(points) < _FEW_MARKS or area is None or area <= 0.0:
        return []
    width = tile.width_mm or math.sqrt(100.0 * area)
    height = tile.height_mm or 100.0 * area / width
    sure = 1.0 if len(points) >= _MANY_MARKS else 0.6
    ratio = clark_evans(points, 100.0 * area, 2.0 * (width + height))
    how = "clustered" if ratio < 0.8 else "regular" if ratio > 1.2 else "scattered at random"
    text = f"The {len(points)} marks lie {how} (spacing {ratio:.2f} of random)"
    facts = [_measured("image.clustering_r", ratio, text, sure)]
    edge = sum(
        min(x, width - x, y, height - y) < _EDGE_MM for x, y in points
    )  # the glaze is taken to cover the whole outline
    band = width * height - max(0.0, width - 2 * _EDGE_MM) * max(0.0, height - 2 * _EDGE_MM)
    inner = width * height - band
    if tile.width_mm and tile.height_mm and inner > 0.0 and edge < len(points):
        ratio = (edge / band) / ((len(points) - edge) / inner)
        text = f"Within 5 mm of the edge the marks are {ratio:.1f} times as dense as elsewhere"
        facts.append(_measured("image.density_edge_vs_centre", ratio, text, 0.6))
    return facts
