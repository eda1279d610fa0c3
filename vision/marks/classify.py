"""From features to kinds: how likely a candidate is a pinhole, blister, crater, speck or nothing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vision.marks.features import FEATURE_NAMES

__all__ = ["CLASSES", "classify"]

CLASSES: tuple[str, ...] = ("pinhole", "blister", "crater", "speck", "nothing")
_COLUMN = {name: k for k, name in enumerate(FEATURE_NAMES)}


def classify(features: NDArray[np.float32]) -> NDArray[np.float32]:
    """Give the probability of each class.

    Parameters
    ----------
    features : (n, len(FEATURE_NAMES)) float32

    Returns
    -------
    (n, len(CLASSES)) float32, rows sum to 1
    """

    def column(name: str) -> NDArray[np.float32]:
        return features[:, _COLUMN[name]]

    contrast = (column("lightness_0") + column("lightness_1")) / 2
    relief = column("dipole_2") + column("dipole_3")
    ring = column("brightest_rim")
    colour = column("colour_0")
    seen = np.maximum(np.abs(contrast), relief) + colour - 3 * column("texture") - 9
    seen = seen - 6 * column("quadrupole_3") / (np.abs(contrast) + relief + 1)
    seen = seen - 30 * column("glint_core") - 5 * (1 - column("domain_outside"))
    scores = np.stack(
        [
            0.15 * relief + 0.05 * colour - 0.05 * contrast - 0.02 * ring,
            0.3 * relief - 0.10 * colour - 0.03 * np.abs(contrast),
            0.10 * ring + 0.05 * colour + 0.05 * relief - 0.8,
            -0.25 * relief - 0.12 * contrast - 0.05 * ring,
            -0.5 * seen,
        ],
        axis=1,
    )
    scores -= scores.max(axis=1, keepdims=True)
    odds = np.exp(scores)
    shares: NDArray[np.float32] = (odds / odds.sum(axis=1, keepdims=True)).astype(np.float32)
    return shares
