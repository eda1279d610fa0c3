"""How much of a piece lies in the photo, told from its edge in view; the shapes are drawn here."""

import numpy as np
import pytest

from vision.frame_cut import mostly_out
from vision.settings import Settings

ROWS, COLS = 900, 1300
SETTINGS = Settings().tiles


def oval(middle_x: float) -> np.ndarray:
    angle = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    return np.stack([middle_x + 150 * np.cos(angle), 450 + 220 * np.sin(angle)], axis=1)


def tile(middle_x: float, middle_y: float, turn_deg: float) -> np.ndarray:
    turn = np.radians(turn_deg)
    corners = np.array([[-120, -200], [120, -200], [120, 200], [-120, 200]], np.float64)
    spun = corners @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return spun + np.array([middle_x, middle_y])


@pytest.mark.parametrize(
    ("outline", "out"),
    [
        (oval(650), False),  # whole
        (oval(60), False),  # its middle well inside
        (oval(-60), True),
        (oval(COLS + 60), True),
        (tile(60, 450, 35), False),
        (tile(-70, 450, 35), True),
        (tile(COLS + 70, 450, -35), True),
        (tile(650, -100, 50), True),
        (tile(650, ROWS - 60, 50), False),
        (tile(5, 450, 0), False),  # square to the frame: its far end may lie anywhere
        (tile(60, 100, 0), False),  # in the corner of the frame: so may both
        (np.array([[0, 0], [150, 0], [0, 600]]), True),  # a floor beyond the table
        (np.array([[0, 0], [COLS, 0], [COLS, ROWS], [0, ROWS]]), False),  # the whole frame
        (np.array([[-50, 300], [-20, 400], [-60, 500]]), False),  # nothing in view
    ],
)
def test_less_than_half_of_a_piece_is_told_from_how_its_edge_turns(outline: np.ndarray, out: bool) -> None:
    assert mostly_out(np.asarray(outline, np.float64), (ROWS, COLS, 3), SETTINGS) is out
    mirrored = outline[:, ::-1]
    assert mostly_out(np.asarray(mirrored, np.float64), (COLS, ROWS, 3), SETTINGS) is out
