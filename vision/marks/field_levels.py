"""What the mark net learns from: levels of rendered surfaces, and the truth about each of their cells."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks import candidates as candidates_module
from vision.marks import field as field_module
from vision.marks import renders as renders_module
from vision.marks.candidates import build_pyramid, measuring_domain, smallest_diameter_px
from vision.marks.classify import CLASSES
from vision.marks.examples import IGNORED, KnownMark
from vision.marks.field import CELL, SIZE_PX, LevelView, view_levels
from vision.marks.renders import known_surfaces, shrunk, with_grain
from vision.settings import Settings

__all__ = ["Level", "label_cells", "load_levels"]

_NOTHING = len(CLASSES) - 1
_LOOKED_FOR = (4.6, 11.0)
"""Diameters, pixels of a level, that a level answers for: a little over an octave, so that none is missed."""
_UNSURE = (3.2, 13.5)
"""Diameters up to which a mark is neither asked for nor held to be nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Level:
    """One level of one surface, and the truth about its cells.

    Attributes
    ----------
    light : (2 rows, 2 cols) float16
    rest : (8, rows, cols) float16
    label : (cell rows, cell cols) int8, index into CLASSES or IGNORED
    places : (3, cell rows, cell cols) float16: log size, offset right, offset down
    """

    light: NDArray[np.float16]
    rest: NDArray[np.float16]
    label: NDArray[np.int8]
    places: NDArray[np.float16]


def label_cells(
    view: LevelView, marks: Sequence[KnownMark], smallest_px: float
) -> tuple[NDArray[np.int8], NDArray[np.float16]]:
    """Tell for each cell of a level what lies in it.

    Parameters
    ----------
    view : the level
    marks : the true marks, full-size pixels
    smallest_px : diameter from which marks are asked for, full-size pixels

    Returns
    -------
    label, places : as in `Level`. Cells near a mark's middle hold its kind; the rest of it is IGNORED.
    """
    rows, cols = view.light.shape[0] // CELL, view.light.shape[1] // CELL
    label = np.full((rows, cols), _NOTHING, np.int8)
    places = np.zeros((3, rows, cols), np.float16)
    factor, offset = float(2**view.level), 0.0 if view.level == 0 else 0.5
    down, right = np.mgrid[:rows, :cols]
    for mark in sorted(marks, key=lambda mark: -mark.diameter_px):
        size = mark.diameter_px / factor
        if not _UNSURE[0] < size < _UNSURE[1]:
            continue
        x, y = (((place - offset) / factor + 0.5) / CELL - 0.5 for place in (mark.x_px, mark.y_px))
        away = np.hypot(right - x, down - y) * CELL
        inside = away < max(0.7 * size, 3.5)
        label[inside & ((label == _NOTHING) | (away < 0.5 * size))] = IGNORED
        if not _LOOKED_FOR[0] <= size <= _LOOKED_FOR[1] or mark.diameter_px < 0.95 * smallest_px:
            continue
        middle = (away < 0.33 * size) | (away == away.min())
        label[middle] = CLASSES.index(mark.kind)
        places[0][middle] = np.log(size / SIZE_PX)
        places[1][middle], places[2][middle] = (x - right)[middle], (y - down)[middle]
    domain = view.rest[3]
    shown = cv2.resize(domain, (cols, rows), interpolation=cv2.INTER_AREA) > 0.15
    label[~shown] = IGNORED
    return label, places


def _levels_of(truth_file: Path, method: str) -> list[Level]:
    cv2.setNumThreads(1)
    kept = truth_file.parent / ".levels" / f"{truth_file.stem}.{method}.npz"
    names = ("light", "rest", "label", "places")
    if kept.is_file():
        with np.load(kept, allow_pickle=False) as file:
            count = len(file.files) // len(names)
            return [Level(*(file[f"{name}{k}"] for name in names)) for k in range(count)]
    settings = Settings()
    rng = np.random.default_rng(int(hashlib.sha256(truth_file.stem.encode()).hexdigest()[:7], 16))
    made = []
    for known in known_surfaces(truth_file, settings, read=bool(rng.random() < 0.4)):
        views = [(known.surface, known.marks, False)]
        if rng.random() < 0.2:
            views.append((with_grain(known.surface, rng), known.marks, True))
        if rng.random() < 0.4:
            poorer = shrunk(known, rng)
            views.append((poorer.surface, poorer.marks, False))
        for surface, marks, grained in views:
            pyramid = build_pyramid(surface, measuring_domain(surface, settings.marks), settings.marks)
            smallest = smallest_diameter_px(surface.blur_px, settings.marks)
            largest = settings.marks.largest_fraction * min(surface.glazed.shape)
            for view in view_levels(pyramid, surface.blur_px, largest):
                label, places = label_cells(view, marks, smallest)
                if grained:  # under grain a mark may have gone from sight
                    label[label != _NOTHING] = IGNORED
                made.append(Level(view.light.astype(np.float16), view.rest.astype(np.float16), label, places))
    kept.parent.mkdir(exist_ok=True)
    np.savez(kept, **{f"{name}{k}": getattr(level, name) for k, level in enumerate(made) for name in names})
    return made


def load_levels(files: Sequence[Path], processes: int = 1) -> list[Level]:
    """Make or load the levels of photos given by their truth files."""
    modules = (candidates_module, field_module, renders_module)
    text = b"".join(Path(str(module.__file__)).read_bytes() for module in modules)
    work = partial(_levels_of, method=hashlib.sha256(text + repr(_LOOKED_FOR).encode()).hexdigest()[:12])
    if processes == 1:
        parts = [work(file) for file in files]
    else:
        with ProcessPoolExecutor(processes) as pool:
            parts = list(pool.map(work, files, chunksize=2))
    return [level for part in parts for level in part]
