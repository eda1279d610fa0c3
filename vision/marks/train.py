"""Fit the mark model to rendered surfaces: ``python -m vision.marks.train --renders .renders/train``.

Photos whose number is divisible by ``--hold`` calibrate and are never fitted on; test photos are not touched.
Features of each photo are kept beside the truth and used again while the method is the same.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path

import cv2
import numpy as np

from vision.marks import candidates as candidates_module
from vision.marks import examples as examples_module
from vision.marks import features as features_module
from vision.marks import peaks as peaks_module
from vision.marks import renders as renders_module
from vision.marks.classify import CLASSES, MODEL_FILE, load_model
from vision.marks.examples import IGNORED, Examples, make_examples, make_peak_examples
from vision.marks.find import find_marks
from vision.marks.forest import Forest
from vision.marks.renders import known_surfaces, split_files, with_grain
from vision.marks.score import Score, score_marks
from vision.settings import Settings

__all__ = ["load_examples", "main", "score_files"]


def _method(*more: bytes) -> str:
    """Name the method by the text of the modules that make features, the settings and `more`."""
    modules = (candidates_module, examples_module, features_module, peaks_module, renders_module)
    text = b"".join(Path(str(module.__file__)).read_bytes() for module in modules)
    asked = repr(replace(Settings().marks, least_probability=0.0))
    return hashlib.sha256(text + asked.encode() + b"".join(more)).hexdigest()[:12]


def _group(truth_file: Path) -> int:
    return int(hashlib.sha256(truth_file.stem.encode()).hexdigest()[:7], 16)


def _examples_of(truth_file: Path, screen: Forest | None, method: str) -> Examples | None:
    """Make or load one photo's examples: of peaks without a screen, of candidates with one."""
    cv2.setNumThreads(1)
    kept = truth_file.parent / ".features" / f"{truth_file.stem}.{method}.npz"
    if kept.is_file():
        with np.load(kept, allow_pickle=False) as file:
            return Examples(file["features"], file["label"], file["log_ratio"], file["group"])
    settings = Settings()
    group = _group(truth_file)
    parts = []
    for known in known_surfaces(truth_file, settings):
        rng = np.random.default_rng(group)
        views = [known.surface] + ([with_grain(known.surface, rng)] if group % 3 == 0 else [])
        for number, surface in enumerate(views):
            if screen is None:
                made = make_peak_examples(surface, known.marks, group, settings.marks)
            else:
                made = make_examples(surface, known.marks, group, settings.marks, screen)
            # under grain a mark may have gone from sight: only what is nothing is learnt from
            parts.append(made if number == 0 else made.without_marks())
    if not parts:
        return None
    made = Examples.join(parts)
    kept.parent.mkdir(exist_ok=True)
    np.savez(kept, features=made.features, label=made.label, log_ratio=made.log_ratio, group=made.group)
    return made


def load_examples(files: Sequence[Path], screen: Forest | None, processes: int = 1) -> Examples:
    """Make or load the examples of photos given by their truth files.

    Raises
    ------
    FileNotFoundError : there are none.
    """
    if not files:
        raise FileNotFoundError(
            "no renders in the folders given; make them with sample_images/render_splits.py"
        )
    method = _method() if screen is None else _method(screen.value.tobytes())
    work = partial(_examples_of, screen=screen, method=method)
    with ProcessPoolExecutor(processes) as pool:
        parts = [part for part in pool.map(work, files, chunksize=2) if part is not None]
    return Examples.join(parts)


def score_files(
    files: Sequence[Path], *, from_px: float, least_probability: float | None = None
) -> dict[str, Score]:
    """Find marks on all surfaces of the photos and score them against the truth, by the photos' folder."""
    settings = Settings()
    if least_probability is not None:
        settings = replace(settings, marks=replace(settings.marks, least_probability=least_probability))
    scores: dict[str, Score] = {}
    for truth_file in files:
        score = scores.setdefault(truth_file.parent.name, Score())
        for known in known_surfaces(truth_file, settings):
            score_marks(known.marks, find_marks(known.surface, settings.marks), score, from_px=from_px)
    return scores


def _report(name: str, examples: Examples) -> str:
    label = examples.label[examples.label != IGNORED]
    counts = ", ".join(f"{int((label == k).sum())} {kind}" for k, kind in enumerate(CLASSES))
    return f"{name}: {len(np.unique(examples.group))} photos, {counts}"


def main() -> int:
    """Run the command; gives the exit code."""
    from vision.marks.fit import fit_model, fit_screen, model_arrays

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--hold", type=int, default=5, help="photos whose number this divides are held out")
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    parser.add_argument("--processes", type=int, default=2)
    args = parser.parse_args()
    began = time.perf_counter()
    fitted, held = split_files(args.renders, args.hold)
    screen = fit_screen(load_examples(fitted, None, args.processes))
    train = load_examples(fitted, screen, args.processes)
    tune = load_examples(held, screen, args.processes)
    sys.stderr.write(f"{_report('fitted', train)}\n{_report('held', tune)}\n")
    model = fit_model(screen, train, tune)
    with args.out.open("wb") as file:
        np.savez_compressed(file, allow_pickle=False, **model_arrays(model))
    load_model.cache_clear()
    for folder, score in score_files(held, from_px=6.0).items():
        sys.stderr.write("\n".join([f"held out, {folder}:", *score.lines(), ""]))
    sys.stderr.write(f"{time.perf_counter() - began:.0f} s\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
