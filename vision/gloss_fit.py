"""Fit the gloss model to renders: python -m vision.gloss_fit .renders/train .renders/shaded.

Needs scikit-learn and renders from `sample_images/`. What is written is `gloss_model.json`, plain numbers.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.gloss import MODEL_FILE
from vision.gloss_cues import gloss_cues
from vision.marks.renders import known_surfaces
from vision.reading import Finish
from vision.settings import Settings

__all__ = ["fit_gloss", "gather"]

_FINISHES = [str(f) for f in (Finish.GLOSS, Finish.SATIN, Finish.MATT)]
_UNUSED = frozenset(f"slope{n}_middle_ratio" for n in range(3))
"""Cues for `vision.grounds` only, sums of others."""

Rows = NDArray[np.float64]


def gather(folders: list[Path], settings: Settings) -> tuple[tuple[str, ...], Rows, list[dict[str, object]]]:
    """Measure the cues of every face of the renders in some folders.

    Returns
    -------
    The cues' names, the cues (faces, cues), and the truth of each face
    """
    rows: list[list[float]] = []
    truths: list[dict[str, object]] = []
    names: tuple[str, ...] = ()
    for file in sorted(f for folder in folders for f in folder.glob("*.json")):
        entries = json.loads(file.read_text(encoding="utf-8"))["tiles"]
        for known in known_surfaces(file, settings):
            cues = gloss_cues(known.surface, settings.gloss)
            if cues is None:
                continue
            names = tuple(name for name in cues if name not in _UNUSED)
            rows.append([cues[name] for name in names])
            truths.append(entries[int(known.name.rsplit(".", 1)[1])])
    return names, np.asarray(rows, np.float64), truths


def fit_gloss(names: tuple[str, ...], rows: Rows, truths: list[dict[str, object]]) -> dict[str, object]:
    """Fit finish, reflection and roughness; gives the model as plain lists.

    Parameters
    ----------
    names : of the cues
    rows : (faces, cues)
    truths : of each face, with finish, roughness and, where known, reflection_in_view
    """
    from sklearn.linear_model import LogisticRegression, Ridge

    middle, spread = rows.mean(axis=0), rows.std(axis=0) + 1e-6
    standard = np.clip((rows - middle) / spread, -4.0, 4.0)
    traced = np.array(["reflection_in_view" in t for t in truths])
    weight = np.where(traced, 1.0, 0.5)  # shaded surfaces are simpler than ray-traced ones
    finish = LogisticRegression(C=0.3, max_iter=1000)
    finish.fit(standard, [_FINISHES.index(str(t["finish"])) for t in truths], weight)
    seen = [bool(t.get("reflection_in_view")) for t in truths]
    reflection = LogisticRegression(C=0.03, max_iter=1000)
    reflection.fit(standard[traced], np.array(seen)[traced])
    roughness = Ridge(30.0).fit(standard, np.log([float(str(t["roughness"])) for t in truths]), weight)
    lines = {
        "finish": np.column_stack([finish.coef_, finish.intercept_]),
        "reflection": np.append(reflection.coef_[0], reflection.intercept_),
        "roughness": np.append(roughness.coef_, roughness.intercept_),
    }
    model: dict[str, object] = {"names": list(names)}
    for name, values in {"middle": middle, "spread": spread, **lines}.items():
        model[name] = np.round(values, 6).tolist()
    return model


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    args = parser.parse_args()
    model = fit_gloss(*gather(args.folders, Settings()))
    MODEL_FILE.write_text(json.dumps(model, indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
