"""The nets run as ONNX defines them, in strips as whole, and in whole numbers nearly so."""

from __future__ import annotations

from pathlib import Path
from shutil import copy

import numpy as np
import pytest

from tests.synthetic_marks import draw_tile
from vision.craze_lines import LINES_FILE, REACH_PX, STRIDE
from vision.craze_web import CELL_PX, WEB_FILE
from vision.errors import NetUnusableError
from vision.marks.field import CHANNELS, MODEL_FILE, REACH
from vision.nets import load_net, quick_file, run_in_strips, run_net
from vision.nets_quicken import QUICKENED, shown_of
from vision.settings import Settings

NETS = {
    "lines": (LINES_FILE, 4, "score", REACH_PX, STRIDE),
    "web": (WEB_FILE, 5, "score", REACH_PX, CELL_PX),
    "marks": (MODEL_FILE, len(CHANNELS), "scores", REACH, 8),
}


@pytest.fixture(scope="module")
def shown() -> dict[str, np.ndarray]:
    """What each net is shown of a drawn tile, of a level or another part of it."""
    surface = draw_tile(812, craze_cell_px=40).surface
    seen: dict[str, np.ndarray] = {}
    for name, planes in shown_of(surface, Settings()):
        seen.setdefault(name, planes if name == "squares" else planes[None, :, :128, :256])
    return seen


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


@pytest.mark.parametrize("name", QUICKENED)
def test_the_net_runs_as_onnx_defines_it(name: str, shown: dict[str, np.ndarray]) -> None:
    """Against the reference evaluator of the ONNX project, where that is installed."""
    reference = pytest.importorskip("onnx.reference", reason="onnx comes with the extra `train`")
    path, planes = QUICKENED[name].path, shown[name][..., :64, :64][:4]
    output = load_net(path).get_outputs()[0].name
    wanted = reference.ReferenceEvaluator(str(path)).run(
        [output], {load_net(path).get_inputs()[0].name: planes}
    )
    np.testing.assert_allclose(run_net(path, planes, (output,), quick=False)[0], wanted[0], atol=2e-3)
    assert path.stat().st_size < 2e6


@pytest.mark.parametrize("name", QUICKENED)
def test_a_net_in_whole_numbers_answers_as_the_net(name: str, shown: dict[str, np.ndarray]) -> None:
    """Each was made from the net beside it; after a fit: `python -m vision.nets_quicken`."""
    path = QUICKENED[name].path
    assert quick_file(path) != path, f"{path.name} was fitted anew and not quickened"
    output = load_net(path).get_outputs()[0].name
    (exact,), (quick,) = (run_net(path, shown[name], (output,), quick=q) for q in (False, True))
    assert np.sqrt(np.mean((quick - exact) ** 2)) < 0.12 * exact.std()


def test_a_net_fitted_anew_is_not_answered_for_by_the_old_one(tmp_path: Path) -> None:
    net, quick = (Path(copy(file, tmp_path)) for file in (WEB_FILE, quick_file(WEB_FILE)))
    assert quick_file(net) == quick
    other = Path(copy(LINES_FILE, tmp_path / "other.onnx"))
    copy(quick, tmp_path / "other.int8.onnx")
    assert quick_file(other) == other


def test_a_net_that_cannot_be_asked_says_which_and_why(tmp_path: Path) -> None:
    cut = tmp_path / "cut.onnx"
    cut.write_bytes(LINES_FILE.read_bytes()[:5000])
    with pytest.raises(NetUnusableError, match=r"cut\.onnx: \S"):
        run_net(cut, np.zeros((1, 4, 8, 8), np.float32), ("score",))
    with pytest.raises(NetUnusableError, match=r"gone\.onnx: \S"):
        load_net(tmp_path / "gone.onnx")
