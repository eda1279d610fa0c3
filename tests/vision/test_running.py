"""Runs drawn at known lengths below a glaze line, and lines that only wave."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import grey_opening

from tests.vision.test_face_colours import COLS, GLAZE, MM, ROWS, drawn, plain
from vision.face import reduce_face
from vision.reading import Subject
from vision.running import measure_running, runs_of_line
from vision.settings import FaceSettings, RunningSettings

SETTINGS = RunningSettings()
LINE_MM = 70.0


def tile(line_mm, glaze=None, *, turn=0, mm_per_px=MM, subject=Subject.TILE):
    """A tile glazed down to `line_mm` (cols,), bare below."""
    lab = plain() if glaze is None else glaze
    bare = np.arange(ROWS)[:, None] * MM > np.asarray(line_mm)[None, :]
    lab[bare] = (80.0, 3.0, 14.0)
    surface = drawn(np.rot90(lab, turn), mm_per_px=mm_per_px, bare_mm=0, subject=subject)
    clay = np.rot90(bare, turn)
    surface.bare[:] = clay
    surface.glazed[:] = ~clay
    return reduce_face(surface, 0.0, FaceSettings())


def line(runs=(), wave_mm=0.0):
    """A glaze line with runs (x mm, length mm, width mm half-way), each round as a drop, and a slow wave."""
    x = np.arange(COLS) * MM
    low = LINE_MM + wave_mm * np.sin(2 * np.pi * x / 24.0)
    for at, length, width in runs:
        low = low + length * np.exp(-np.log(2) * (2 * (x - at) / width) ** 2)
    return low


@pytest.mark.parametrize("length", [1.5, 3.0, 8.0])
@pytest.mark.parametrize("turn", [0, 1, 3])
def test_length_of_the_longest_run(length, turn):
    running = measure_running(tile(line([(15, length, 3.0), (34, 0.6 * length, 2.5)]), turn=turn), SETTINGS)
    assert running.present
    assert running.longest_mm == pytest.approx(length, abs=0.4)
    assert abs(running.longest_mm - length) < 2 * running.longest_sd_mm
    assert running.runs == (2 if 0.6 * length > 0.8 else 1)
    assert running.toward == {0: "bottom", 1: "right", 3: "left"}[turn]
    assert not running.reaches_end


@pytest.mark.parametrize("wave_mm", [0.0, 0.6, 1.0])
def test_a_line_that_waves_has_not_run(wave_mm):
    running = measure_running(tile(line(wave_mm=wave_mm)), SETTINGS)
    assert not running.present
    assert running.longest_mm == 0.0
    assert running.width_share == 0.0


def test_a_run_to_the_very_end_says_so():
    assert measure_running(tile(line([(25, 25.0, 5.0)])), SETTINGS).reaches_end


def test_without_scale_the_length_is_in_pixels_of_the_view():
    running = measure_running(tile(line([(25, 4.0, 3.0)]), mm_per_px=None), SETTINGS)
    assert running.longest_mm is None
    assert running.longest_px == pytest.approx(4.0 / MM, abs=4)


def test_nothing_is_said_without_a_bare_foot_or_of_ware():
    assert measure_running(tile(np.full(COLS, 99.0)), SETTINGS) is None
    assert measure_running(tile(line(), subject=Subject.WARE), SETTINGS) is None


def test_a_bare_top_is_where_it_was_held():
    face = tile(line([(25, 4.0, 3.0)]), turn=2)
    assert measure_running(face, SETTINGS) is None


def test_the_line_without_runs_is_scipys_opening():
    rng = np.random.default_rng(5)
    low = np.cumsum(rng.normal(size=300)) + 200
    below, _ = runs_of_line(low, 5.0, SETTINGS)
    window = 2 * round(SETTINGS.widest_run_mm * 5.0 / 2) + 1
    rival = low - grey_opening(low, size=window, mode="nearest")
    inner = slice(window, -window)  # the two carry a line on past its ends differently
    assert below[inner] == pytest.approx(rival[inner], abs=1e-3)


def test_pooled_glaze_is_set_against_the_field():
    glaze = plain()
    pooled = (40.0, -8.0, -16.0)
    glaze[int((LINE_MM - 4) / MM) : int(LINE_MM / MM)] = pooled
    pool = measure_running(tile(line(), glaze), SETTINGS).pool
    assert np.array(pool.pooled.as_tuple()) == pytest.approx(pooled, abs=1.0)
    assert np.array(pool.field.as_tuple()) == pytest.approx(GLAZE, abs=1.0)
    assert measure_running(tile(line()), SETTINGS).pool.delta_e_00 < 1.0
