"""Fit how trees and net are blended.

``python -m vision.marks.blend_fit --renders .renders/train .renders/tune .renders/far`` learns from photos
whose number is divisible by 5, which neither trees nor net learnt from: so it also calibrates. Run it after
`vision.marks.train` and `vision.marks.net_fit`, whose squares it uses.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import cv2
import numpy as np

from vision.marks.classify import CLASSES
from vision.marks.net import ASKED_FROM, BLEND_FILE, ask_net
from vision.marks.net_fit import load_squares
from vision.marks.renders import split_files

__all__ = ["main"]

_NOTHING = len(CLASSES) - 1
_LEAST = 1e-4


def main() -> int:
    """Run the command; gives the exit code."""
    from sklearn.linear_model import LogisticRegression

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--out", type=Path, default=BLEND_FILE)
    args = parser.parse_args()
    cv2.setNumThreads(1)
    held = load_squares(split_files(args.renders, 5)[1])
    asked = np.nonzero(held.shares[:, _NOTHING] < 1 - ASKED_FROM)[0]
    label, trees = held.label[asked], held.shares[asked]
    told = [ask_net(held.squares[part].astype(np.float32)) for part in np.array_split(asked, 40)]
    net, ratio = np.concatenate([t[0] for t in told]), np.concatenate([t[1] for t in told])
    rows = np.concatenate([np.log(np.maximum(trees, _LEAST)), np.log(np.maximum(net, _LEAST))], axis=1)
    fitted = LogisticRegression(C=0.05, max_iter=500).fit(rows, label)
    kept = {
        "trees": fitted.coef_[:, : len(CLASSES)].round(4).tolist(),
        "net": fitted.coef_[:, len(CLASSES) :].round(4).tolist(),
        "offset": fitted.intercept_.round(4).tolist(),
    }
    args.out.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    on = label != _NOTHING
    for name, shares in (("trees", trees), ("net", net), ("both", fitted.predict_proba(rows))):
        named = np.argmax(shares[on, :_NOTHING], axis=1) == label[on]
        kinds = [round(float(named[label[on] == k].mean()), 3) for k in range(_NOTHING)]
        loss = -float(np.log(np.maximum(shares[np.arange(len(label)), label], 1e-6)).mean())
        sys.stderr.write(f"{name}: named {named.mean():.3f} {kinds}, log loss {loss:.3f}\n")
    off = np.abs(ratio[on] - held.log_ratio[asked][on])
    sys.stderr.write(f"size by the net off by {np.median(off):.3f}, median of the log\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
