"""Fit the close-up model to the piece net's own folders: python -m vision.close_up_fit --layouts FOLDER ...

Comes after `vision.piece_net_fit`, whose net it uses. Photos and class maps as for that.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import cv2
import numpy as np
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import cross_val_predict
from sklearn.preprocessing import StandardScaler

from vision.close_up import FEATURE_NAMES, MODEL_FILE, frame_features
from vision.parts import find_parts
from vision.piece_net import SUBJECT_STEP, SUBJECTS, map_pieces
from vision.settings import TileSettings


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--layouts", type=Path, nargs="+", required=True)
    args = parser.parse_args()
    settings = TileSettings()
    rows, whole = [], []
    for path in [p for folder in args.layouts for p in sorted(folder.glob("*.classes.png"))]:
        labels = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
        photo = cv2.imread(str(path.with_name(path.name.replace(".classes.png", ".jpg"))))
        if labels is None or photo is None or not labels.any():
            continue
        pixels = cv2.cvtColor(photo, cv2.COLOR_BGR2RGB).astype(np.uint8)
        seen = map_pieces(pixels, settings)
        everywhere = np.ones(seen.face.shape, np.bool_)
        parts = find_parts(seen.face, seen.clay, seen.wall, everywhere, settings)
        rows.append(frame_features(pixels, seen, parts))
        whole.append(int(labels.max()) >= SUBJECT_STEP * len(SUBJECTS))
    x, y = np.array(rows), np.array(whole)
    scale = StandardScaler().fit(x)
    model = LogisticRegression(C=0.5, max_iter=2000, class_weight="balanced")
    guessed = cross_val_predict(model, scale.transform(x), y, cv=5)
    model.fit(scale.transform(x), y)
    told = {
        "features": list(FEATURE_NAMES),
        "middle": [round(float(v), 6) for v in scale.mean_],
        "spread": [round(float(v), 6) for v in scale.scale_],
        "weights": [round(float(v), 6) for v in model.coef_[0]],
        "offset": round(float(model.intercept_[0]), 6),
        "photos": len(y),
        "right_in_cross_validation": round(float((guessed == y).mean()), 4),
    }
    MODEL_FILE.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    sys.stderr.write(f"{len(y)} photos, {told['right_in_cross_validation']:.3f} right in cross-validation\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
