"""What a second photo adds: each photo of a pair read alone, then both as one, on pairs nothing was tuned on.

    python sample_images/render_pairs.py --split test --count 20
    python -m pytest -m accuracy tests/benchmarks/test_pairs.py -s

Set GLOSTBOOK_PAIRS to read another folder. Figures go to tests/benchmarks/figures/<folder>.json. Renders are
not photographs. Marks from 6 pixels across are matched as in `scoring.py`.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.benchmarks.scoring import Tally, _outlines, _score_tile
from vision.errors import PairMismatchError
from vision.marks.renders import marks_in_view
from vision.marks.score import Score, score_marks
from vision.photo import load_photo
from vision.pipeline import PhotoRead, read_photo
from vision.reading import Flag, MarkKind, Subject
from vision.two_lamps import read_pair

HERE = Path(__file__).resolve().parent
FOLDER = Path(os.environ.get("GLOSTBOOK_PAIRS", HERE.parents[1] / ".renders" / "pairs_test"))
WAYS = ("left alone", "right alone", "both")


def score(folder: Path, name: str, read: PhotoRead, tally: Tally, marks: Score) -> None:
    """Add one reading's scores against the truth beside its (first) photo."""
    truth = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
    for tile, index in _outlines(folder, truth, read, name, tally):
        _score_tile(folder, name, truth, tile, read, index, tally)
        known = marks_in_view(tile, read.views[index].to_photo)
        score_marks(known, read.reading.tiles[index].marks, marks, from_px=6.0)


def figures_of(tally: Tally, marks: Score) -> dict[str, Any]:
    """Give precision and recall by kind, and what else a second photo may change."""
    out: dict[str, Any] = {}
    for kind in MarkKind:
        out[str(kind)] = {
            "precision": tally.share(f"right_{kind}"),
            "recall": tally.share(f"found_{kind}"),
            "called": len(tally.values.get(f"right_{kind}", [])),
            "true": len(tally.values.get(f"found_{kind}", [])),
        }
    for name, prefix in (("precision", "right_"), ("recall", "found_")):
        every = [v for kind in MarkKind for v in tally.values.get(f"{prefix}{kind}", [])]
        out[f"all_{name}"] = round(float(np.mean(every)), 4) if every else None
    out["calibration_error"] = round(marks.calibration_error(), 4)
    out["diameter_error"] = tally.percentiles("diameter_error")
    for name in ("finish_told", "finish_right"):
        out[name] = {"share": tally.share(name), "count": len(tally.values.get(name, []))}
    for name in ("glaze_de_chart", "glaze_de_card"):
        out[name] = tally.percentiles(name)
    return out


def gain(figures: dict[str, Any]) -> dict[str, Any]:
    """Compare both photos with the mean of each alone."""
    out = {}
    for kind in (*map(str, MarkKind), "all"):
        for name in ("precision", "recall"):
            values = [
                figures[way][f"all_{name}"] if kind == "all" else figures[way][kind][name] for way in WAYS
            ]
            if None not in values:
                one = (values[0] + values[1]) / 2
                out[f"{kind} {name}"] = {"one photo": round(one, 4), "both": values[2]}
    return out


@pytest.mark.accuracy
def test_figures_of_one_photo_and_of_both():
    pairs = [p for p in sorted(FOLDER.glob("left_*.json")) if (FOLDER / f"right_{p.stem[5:]}.json").is_file()]
    if not pairs:
        pytest.skip(f"no pairs in {FOLDER.name}: run sample_images/render_pairs.py --split test --count 20")
    tallies, marks = {way: Tally() for way in WAYS}, {way: Score() for way in WAYS}
    refused, unused = [], 0
    for path in pairs:
        names = (path.stem, f"right_{path.stem[5:]}")
        subject = Subject(json.loads(path.read_text(encoding="utf-8"))["subject"])
        photos = [load_photo(FOLDER / f"{name}.jpg") for name in names]
        for way, name, photo in zip(WAYS, names, photos, strict=False):
            score(FOLDER, name, read_photo(photo, subject=subject), tallies[way], marks[way])
        try:
            both = read_pair(photos[0], photos[1], subject=subject)
        except PairMismatchError as error:
            refused.append(f"{path.stem}: {error.reason}")
            both = read_photo(photos[0], subject=subject)
        unused += sum(Flag.SECOND_PHOTO_UNUSED in tile.flags for tile in both.reading.tiles)
        score(FOLDER, names[0], both, tallies["both"], marks["both"])
    figures: dict[str, Any] = {
        "folder": FOLDER.name,
        "pairs": len(pairs),
        "refused": refused,
        "unused": unused,
    }
    figures |= {way: figures_of(tallies[way], marks[way]) for way in WAYS}
    figures["gain"] = gain(figures)
    out = HERE / "figures" / f"{FOLDER.name}.json"
    out.parent.mkdir(exist_ok=True)
    out.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    print(json.dumps(figures, indent=1))
    assert len(refused) <= 0.05 * len(pairs)
