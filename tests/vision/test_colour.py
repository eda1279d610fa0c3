"""Colour arithmetic against published tables and independent libraries."""

from __future__ import annotations

import csv
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from vision import colour

REFERENCES = Path(__file__).parents[1] / "references"
# colour-science and scikit-image carry D65 to 4 and 5 digits; whites that differ in the fifth digit move
# a*, b* of a saturated colour by about 0.02.
LIBRARY_TOLERANCE = 0.03


@pytest.fixture(scope="module")
def science() -> Any:
    """colour-science, whose import warns about optional packages."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return pytest.importorskip("colour")


def sharma_pairs() -> list[dict[str, str]]:
    with (REFERENCES / "ciede2000.csv").open() as file:
        return list(csv.DictReader(file))


def cube() -> np.ndarray[Any, np.dtype[np.uint8]]:
    steps = np.array([0, 1, 7, 10, 11, 64, 128, 200, 254, 255], np.uint8)
    return np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)


@pytest.mark.parametrize("row", sharma_pairs(), ids=lambda row: f"pair {row['pair']}")
def test_ciede2000_pairs_hold_in_both_orders(row: dict[str, str]) -> None:
    # Sharma, Wu & Dalal 2005, table 1, printed to four decimals
    one = [float(row[k]) for k in ("L1", "a1", "b1")]
    two = [float(row[k]) for k in ("L2", "a2", "b2")]
    wanted = float(row["dE00"])
    assert colour.delta_e_00(one, two) == pytest.approx(wanted, abs=5.1e-5)
    assert colour.delta_e_00(two, one) == pytest.approx(wanted, abs=5.1e-5)


def test_ciede2000_takes_any_shape_and_broadcasts() -> None:
    rows = sharma_pairs()
    one = np.array([[float(r[k]) for k in ("L1", "a1", "b1")] for r in rows])
    two = np.array([[float(r[k]) for k in ("L2", "a2", "b2")] for r in rows])
    wanted = np.array([float(r["dE00"]) for r in rows])
    assert len(rows) == 34
    assert (
        np.abs(colour.delta_e_00(one.reshape(2, 17, 3), two.reshape(2, 17, 3)).ravel() - wanted).max()
        < 5.1e-5
    )
    assert colour.delta_e_00(one[:, None], two[None]).shape == (34, 34)
    assert colour.delta_e_00(one[0], two[:5]).shape == (5,)
    assert float(colour.delta_e_00([50.0, 0.0, 0.0], [50.0, 0.0, 0.0])) == 0.0
    with pytest.raises(ValueError, match="axis of 3"):
        colour.delta_e_00(np.zeros((4, 2)), np.zeros((4, 2)))


def test_ciede2000_agrees_with_two_libraries(science: Any) -> None:
    from skimage.color import deltaE_ciede2000

    rng = np.random.default_rng(8)
    one = np.c_[rng.uniform(0, 100, 5000), rng.normal(0, 45, (5000, 2))]
    two = np.where(rng.random((5000, 1)) < 0.5, one + rng.normal(0, 3, (5000, 3)), rng.permutation(one))
    one[:50, 1:], two[25:75, 1:] = 0.0, 0.0
    ours = colour.delta_e_00(one, two)
    assert np.abs(ours - deltaE_ciede2000(one, two)).max() < 1e-9
    assert np.abs(ours - science.delta_E(one, two, method="CIE 2000")).max() < 1e-9


def test_lab_of_srgb_agrees_with_scikit_image() -> None:
    from skimage.color import rgb2lab

    codes = cube()
    assert np.abs(colour.srgb8_to_lab(codes) - rgb2lab(codes / 255.0)).max() < LIBRARY_TOLERANCE


def test_lab_of_srgb_agrees_with_colour_science(science: Any) -> None:
    codes = cube()
    xyz = science.sRGB_to_XYZ(codes / 255.0)
    lab = science.XYZ_to_Lab(xyz, science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"])
    assert np.abs(colour.srgb8_to_lab(codes) - lab).max() < LIBRARY_TOLERANCE
    assert np.abs(colour.linear_to_xyz(colour.srgb_to_linear(codes)) - xyz).max() < 3e-4


def test_blue_as_scikit_image_gives_it() -> None:
    # pure blue, (32.3, 79.2, -107.9): the value scikit-image 0.26 gives for uint8 input
    assert colour.srgb8_to_lab(np.array([0, 0, 255], np.uint8)) == pytest.approx(
        [32.30, 79.19, -107.86], abs=0.02
    )


def test_neutrals_have_no_hue() -> None:
    greys = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    lab = colour.srgb8_to_lab(greys)
    assert np.abs(lab[:, 1:]).max() < 1e-3
    assert lab[255, 0] == pytest.approx(100.0, abs=1e-3)
    assert (np.diff(lab[:, 0]) > 0).all()


def test_bradford_adaptation_agrees_with_colour_science(science: Any) -> None:
    rng = np.random.default_rng(3)
    xyz = rng.uniform(0.01, 0.9, (50, 3))
    wanted = science.chromatic_adaptation(
        xyz, np.array(colour.WHITE_D50), np.array(colour.WHITE_D65), transform="Bradford"
    )
    assert np.abs(colour.adapt_d50_to_d65(xyz) - wanted).max() < 2e-5
    assert np.abs(colour.adapt_d65_to_d50(colour.adapt_d50_to_d65(xyz)) - xyz).max() < 1e-5
    # The D50 white must become the D65 white: the trap is an illuminant argument that does not adapt
    assert colour.lab_d50_to_lab([100.0, 0.0, 0.0]) == pytest.approx([100.0, 0.0, 0.0], abs=2e-3)


def test_pictures_and_lists_agree() -> None:
    picture = np.random.default_rng(0).integers(0, 256, (120, 130, 3), dtype=np.uint8)
    picture[:20] //= 12
    exact = colour.linear_to_lab(colour.srgb_to_linear(picture))
    assert np.abs(colour.srgb8_to_lab(picture) - exact).max() < 0.05


def test_there_and_back() -> None:
    codes = cube()
    assert np.array_equal(colour.lab_to_srgb8(colour.srgb8_to_lab(codes)), codes)
    assert np.array_equal(colour.linear_to_srgb8(colour.srgb_to_linear(codes)), codes)
    exact = np.rint(255 * colour.linear_to_srgb(colour.srgb_to_linear(codes)))
    assert np.array_equal(exact.astype(np.uint8), codes)
    lab = np.array([[50.0, 60.0, -40.0], [5.0, 1.0, 2.0], [97.0, -3.0, 4.0]])
    assert colour.xyz_to_lab(colour.lab_to_xyz(lab)) == pytest.approx(lab, abs=2e-3)


def test_scale_is_never_guessed() -> None:
    with pytest.raises(TypeError, match="uint8 or floats"):
        colour.srgb_to_linear(np.array([0, 0, 255]))
    with pytest.raises(TypeError, match="uint8 is wanted"):
        colour.srgb8_to_lab(np.array([0.0, 0.0, 1.0]))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="axis of 3"):
        colour.linear_to_lab(np.zeros((3, 4)))


def test_importing_colour_loads_nothing_heavy() -> None:
    import subprocess
    import sys

    heavy = ("cv2", "skimage", "scipy", "PIL")
    code = f"import sys, vision.colour; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
