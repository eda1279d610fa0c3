"""How well marks, nets and bare patches are read on renders that nothing was fitted on.

Run: ``python -m pytest -m accuracy -s tests/benchmarks/test_surface_faults.py``. The renders are made by
``python sample_images/render_splits.py --split test --count 150``. Outlines are the truth's, so that these
figures judge the reading of the surface alone; renders are not photographs.
"""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy.stats import spearmanr
from skimage.morphology import skeletonize

from vision.crawling import detect_crawling, without_patches
from vision.crazing import detect_crazing
from vision.gloss import GlossJudgement, judge_gloss
from vision.marks.find import find_marks
from vision.marks.renders import known_surfaces, truth_files
from vision.marks.score import Score, score_marks
from vision.settings import Settings

HERE = Path(__file__).resolve().parent
RENDERS = HERE.parents[1] / ".renders"
FROM_PX = 6.0
NEAR_PX = 2
FLOORS = {"test": (0.88, 0.78, 0.82), "test_ware": (0.80, 0.50, 0.85), "test_patch": (0.88, 0.88, 0.90)}
"""Placed precision and recall, crazing right: a little under what was last measured, so a step back shows."""


def line_overlap(found: np.ndarray, true: np.ndarray) -> float:
    """Give F1 of found lines against true ones, each thinned, a line counting as met within NEAR_PX."""
    found, true = skeletonize(found), skeletonize(true)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * NEAR_PX + 1, 2 * NEAR_PX + 1))
    near_true = cv2.dilate(true.astype(np.uint8), disc) > 0
    near_found = cv2.dilate(found.astype(np.uint8), disc) > 0
    precision, recall = near_true[found].mean(), near_found[true].mean()
    return float(2 * precision * recall / max(precision + recall, 1e-9))


def finish_figures(judged: list[tuple[GlossJudgement, dict[str, object]]]) -> dict[str, object]:
    """Tell how well finish and roughness are read off each judged face, given its truth."""
    seen = [(gloss, truth) for gloss, truth in judged if truth["reflection_in_view"] and gloss.shares]
    told = [(gloss, truth) for gloss, truth in seen if gloss.gloss.finish is not None]
    rough = np.array([truth["roughness"] for _, truth in seen])
    shine = np.array([gloss.shine for gloss, _ in seen])
    stated = np.array([gloss.gloss.proxy is not None for gloss, _ in seen], bool)
    chances = [
        (max(gloss.shares.values()), str(max(gloss.shares, key=gloss.shares.get)) == truth["finish"])
        for gloss, truth in judged
        if gloss.shares
    ]
    forced = [str(max(gloss.shares, key=gloss.shares.get)) == truth["finish"] for gloss, truth in seen]
    return {
        "with_reflection": len(seen),
        "told": len(told) / max(1, len(seen)),
        "right_where_told": float(np.mean([str(g.gloss.finish) == t["finish"] for g, t in told] or [0])),
        "right_if_forced": float(np.mean(forced)),
        "declined_without_reflection": float(
            np.mean([g.gloss.finish is None for g, t in judged if not t["reflection_in_view"]] or [1])
        ),
        "proxy_stated": float(stated.mean()),
        "rank_where_stated": -float(spearmanr(shine[stated], rough[stated]).statistic),
        "rank_of_all": -float(spearmanr(shine, rough).statistic),
        "calibration_error": Score(chances=chances).calibration_error(),
    }


@pytest.mark.accuracy
@pytest.mark.parametrize("split", ["test", "test_ware", "test_patch"])
def test_surface_faults(split: str) -> None:
    files = truth_files([RENDERS / split])
    if not files:
        pytest.skip(f"no renders in .renders/{split}: make them with sample_images/render_splits.py")
    settings = Settings()
    score = Score()
    nets: list[tuple[bool, bool | None]] = []
    patches: list[tuple[bool, bool]] = []
    area_errors, cell_ratios, overlaps = [], [], []
    chances: list[tuple[float, bool]] = []
    finishes: list[tuple[GlossJudgement, dict[str, object]]] = []
    sound_marks, sound_cm2 = 0, 0.0
    for file in files:
        truths = json.loads(file.read_text(encoding="utf-8"))["tiles"]
        for known in known_surfaces(file, settings, read=True):
            surface = known.surface
            crawling, crawled = detect_crawling(surface, settings.crawling)
            clear = without_patches(surface, crawled)
            marks = find_marks(clear, settings.marks)
            finishes.append((judge_gloss(clear, settings.gloss), truths[int(known.name.rsplit(".", 1)[1])]))
            score_marks(known.marks, marks, score, from_px=FROM_PX)
            if not known.marks and surface.mm_per_px is not None:
                sound_marks += len(marks)
                sound_cm2 += float(surface.glazed.sum()) * surface.mm_per_px**2 / 100
            crazing, lines, _ = detect_crazing(surface, settings.crazing)
            nets.append((bool(known.crazing["present"]), crazing.present))
            if known.crazing["present"] and crazing.cell_mm:
                cell_ratios.append(crazing.cell_mm / known.crazing["cell_mm"])
            if crazing.probability is not None:
                chances.append((crazing.probability, bool(known.crazing["present"])))
            if crazing.present and known.crazed is not None:
                overlaps.append(line_overlap(lines, known.crazed & surface.glazed))
            patches.append((bool(known.crawling["present"]), crawling.present))
            area_errors.append(abs(crawling.area_fraction - known.crawling["area_fraction"]))
    judged = [(t, f) for t, f in nets if f is not None]
    right = float(np.mean([t == f for t, f in judged]))
    both = sum(bool(t and f) for t, f in judged)
    figures = {
        "photos": len(files),
        "pieces": len(nets),
        "marks_from_px": FROM_PX,
        "marks": score.lines(),
        "mistaken": {f"{a} as {b}": n for (a, b), n in sorted(score.confusion.items()) if a != b},
        "mark_calibration_error": round(score.calibration_error(), 4),
        "false_marks_per_cm2_of_sound_glaze": round(sound_marks / max(sound_cm2, 1e-9), 4),
        "sound_glaze_cm2": sound_cm2,
        "crazing": {
            "right": right,
            "judged": len(judged),
            "not_assessable": len(nets) - len(judged),
            "f1": 2 * both / max(1, sum(t for t, _ in judged) + sum(bool(f) for _, f in judged)),
            "cell_size_ratio": float(np.median(cell_ratios)) if cell_ratios else None,
            "cell_size_error": float(np.median(np.abs(np.array(cell_ratios) - 1))) if cell_ratios else None,
            "mask_f1": float(np.mean(overlaps)) if overlaps else None,
            "calibration_error": Score(chances=chances).calibration_error(),
        },
        "crawling": {
            "right": float(np.mean([t == f for t, f in patches])),
            "true": sum(t for t, _ in patches),
            "found": sum(t and f for t, f in patches),
            "area_error": float(np.mean(area_errors)),
        },
        "finish": finish_figures(finishes),
    }
    told = json.dumps(figures, indent=1, default=float)
    print(f"\n{split}: {told}")
    (HERE / "figures" / f"surface_{split}.json").write_text(told + "\n", encoding="utf-8")
    precision, recall = score.located_figures()
    floor = FLOORS[split]
    assert precision >= floor[0]
    assert recall >= floor[1]
    assert right >= floor[2]
