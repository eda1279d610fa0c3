"""Fine lines that join into no net: a crack, a scratch, a fibre. One photo cannot tell which.

The net that sees craze lines also sees these, among the grain of the surface. What is kept is surer than that
grain and longer than grain makes: thresholds by `lone_lines_fit.py`, on drawn surfaces.
"""

from __future__ import annotations

import cv2
import numpy as np

from vision.craze_net import Net, thin_parts
from vision.settings import CrazingSettings
from vision.surface import BoolMask

__all__ = ["lone_lines"]


def lone_lines(net: Net, settings: CrazingSettings) -> BoolMask:
    """Keep the long, sure, slender lines.

    Parameters
    ----------
    net : lines and their chances as `measure_net` gives them
    settings : the thresholds named `lone_`

    Returns
    -------
    (rows, cols) bool at the net's working resolution, one pixel wide
    """
    inside = net.chance[net.domain][::5]  # a median of every fifth is as good
    grain = float(np.median(inside)) if inside.size else 0.0
    strong = min(max(settings.strong_chance, settings.lone_strong_ratio * grain), settings.lone_strong_most)
    firm = net.chance > strong
    if not firm.any():
        return np.zeros(net.chance.shape, np.bool_)
    weak = net.chance > max(settings.weak_chance, settings.lone_weak_ratio * grain)
    count, labels, stats = thin_parts(weak)
    extent = np.hypot(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT])
    sure = np.bincount(labels[firm], minlength=count) > 0
    long = sure & (extent >= settings.lone_shortest_px)
    long[0] = False
    if not long.any():
        return np.zeros(net.chance.shape, np.bool_)
    from skimage.morphology import skeletonize

    bones = np.asarray(skeletonize(long[labels]), np.bool_)
    length = np.bincount(labels[bones], minlength=count)
    slender = long & (length <= settings.lone_most_winding * extent)
    return np.asarray(bones & slender[labels], np.bool_)
