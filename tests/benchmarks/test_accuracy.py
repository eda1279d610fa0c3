"""Accuracy of the whole read on renders that nothing was tuned on.

    python sample_images/render_splits.py --split test --count 150
    python -m pytest -m accuracy tests/benchmarks/test_accuracy.py -s

Set GLOSTBOOK_RENDERS to read another folder. Figures go to tests/benchmarks/figures/<folder>.json. Renders
are not photographs: the figures say how the reader does on them, no more. Nothing here tunes anything.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from tests.benchmarks.scoring import score_folder

HERE = Path(__file__).resolve().parent
FOLDER = Path(os.environ.get("GLOSTBOOK_RENDERS", HERE.parents[1] / ".renders" / "test"))


@pytest.mark.accuracy
def test_figures_on_held_out_renders():
    if not any(FOLDER.glob("*.json")):
        pytest.skip(
            f"no renders in {FOLDER.name}: run sample_images/render_splits.py --split test --count 150"
        )
    figures = score_folder(FOLDER)
    out = HERE / "figures" / f"{FOLDER.name}.json"
    out.parent.mkdir(exist_ok=True)
    out.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    print(json.dumps(figures, indent=1))
    assert figures["photos"] > 0
    assert figures["crashed"] == []
