"""Pottery is told from other things, where nobody says what a photo shows."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from vision.photo import decode_photo
from vision.pipeline import read_file, read_photo
from vision.pottery import FACE_NAMES, OUTLINE_NAMES, likely_pottery, pottery_features
from vision.reading import Flag, Subject
from vision.settings import Settings
from vision.tiles import Piece, find_pieces, whole_frame

SAMPLES = Path(__file__).resolve().parents[2] / "sample_images"
SETTINGS = Settings()


def photo_of(pixels):
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, format="PNG")
    return decode_photo(file.getvalue(), "drawn")


def confetti():
    rng = np.random.default_rng(5)
    return np.kron(rng.integers(0, 256, (24, 32, 3), dtype=np.uint8), np.ones((20, 20, 1), np.uint8))


def test_printed_colours_are_no_close_up_of_glaze():
    pixels = confetti()
    assert likely_pottery(pixels, [whole_frame(pixels, guessed=True)], SETTINGS) == ()


def test_what_a_person_names_is_read_whatever_it_looks_like():
    guessed = read_photo(photo_of(confetti())).reading
    assert not guessed.tiles
    assert Flag.NOT_POTTERY in guessed.flags
    told = read_photo(photo_of(confetti()), subject=Subject.PATCH).reading
    assert len(told.tiles) == 1
    assert Flag.NOT_POTTERY not in told.flags


@pytest.mark.parametrize("name", ["10-bracken-mug.jpg", "12-oat-pinholes.jpg", "15-moss-jar-close.jpg"])
def test_the_demo_pieces_stay_without_their_card(name):
    pixels = decode_photo((SAMPLES / name).read_bytes(), name).pixels
    pieces = find_pieces(pixels, [], flat=False, subject=None, settings=SETTINGS.tiles)
    largest = max(pieces, key=lambda piece: float(np.ptp(piece.outline_px, axis=0).prod()))
    assert likely_pottery(pixels, [largest], SETTINGS)


def test_features_keep_their_names_and_do_not_mind_the_photo_s_size():
    pixels = decode_photo((SAMPLES / "10-bracken-mug.jpg").read_bytes(), "mug").pixels
    box = np.array([[300.0, 300], [900, 300], [900, 900], [300, 900]])
    piece = Piece(Subject.WARE, box, box)
    full = pottery_features(pixels, piece, SETTINGS)
    half = np.array(Image.fromarray(pixels).resize((pixels.shape[1] // 2, pixels.shape[0] // 2), Image.BOX))
    small = pottery_features(half, replace(piece, outline_px=box / 2, frame_px=box / 2), SETTINGS)
    assert full.shape == small.shape == (len(OUTLINE_NAMES),)
    colours = [OUTLINE_NAMES.index(n) for n in ("spread_lightness", "spread_a", "spread_b")]
    assert np.allclose(full[colours], small[colours], atol=1.0)
    patch = pottery_features(pixels, whole_frame(pixels, guessed=True), SETTINGS)
    assert patch.shape == (len(FACE_NAMES),)


def test_a_speck_of_a_piece_says_nothing_and_is_kept():
    pixels = np.full((300, 400, 3), 128, np.uint8)
    dot = np.array([[10.0, 10], [14, 10], [14, 14], [10, 14]])
    kept = likely_pottery(pixels, [Piece(Subject.TILE, dot, dot)], SETTINGS)
    assert len(kept) == 1
    assert kept[0].likely is None


def test_of_a_photo_said_to_show_a_pot_only_what_looks_like_one_is_read() -> None:
    """The sample studio's own mug on a wooden table, a streak of which is outlined as well."""
    mug = Path(__file__).parents[2] / "sample_images" / "10-bracken-mug.jpg"
    assert len(read_file(mug, subject=Subject.WARE).reading.tiles) == 1
