"""A net asked a strip at a time answers as it does of the whole picture, and no strip overlaps needlessly."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from vision.craze_lines import LINES_FILE, REACH_PX, STRIDE
from vision.craze_web import CELL_PX, WEB_FILE
from vision.marks.field import CHANNELS, MODEL_FILE, REACH
from vision.nets import run_in_strips, run_net

NETS = {
    "lines": (LINES_FILE, 4, "score", REACH_PX, STRIDE),
    "web": (WEB_FILE, 5, "score", REACH_PX, CELL_PX),
    "marks": (MODEL_FILE, len(CHANNELS), "scores", REACH, 8),
}


def asked(name: str, picture: np.ndarray, strips: int, less: int = 0) -> np.ndarray:
    path, _, output, reach, stride = NETS[name]
    most_px = picture.shape[1] * picture.shape[2] // strips
    return run_in_strips(path, list(picture), output, reach=reach - less, stride=stride, most_px=most_px)


@pytest.mark.parametrize("name", NETS)
@pytest.mark.parametrize("size", [(416, 72), (67, 402)])
def test_strips_and_the_whole_agree(name: str, size: tuple[int, int]) -> None:
    path, channels, output, _, stride = NETS[name]
    picture = np.random.default_rng(4).normal(size=(channels, *size)).astype(np.float32)
    up_to = [(0, 0), *((0, -side % stride) for side in size)]
    whole = run_net(Path(path), np.pad(picture, up_to)[None], (output,))[0][0]
    for strips in (1, 2, 3):
        np.testing.assert_allclose(asked(name, picture, strips), whole, atol=1e-4)
    # with less overlap than stated they would not
    assert np.abs(asked(name, picture, 2, less=16) - whole).max() > 1e-3
