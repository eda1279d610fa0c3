"""When it must be doubted that what was found is pottery."""

from __future__ import annotations

import numpy as np
import pytest

from vision.grounds import PhotoGrounds, doubt_subject, lies_under
from vision.reading import Subject
from vision.settings import GroundSettings
from vision.tiles import Piece

SETTINGS = GroundSettings()
CARD = np.array([[100.0, 100], [248, 100], [248, 205], [100, 205]])


def square(x, y, width, height):
    return np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]], float)


def piece_of(subject, *, guessed=True, support=0.0, outline=None, likely=0.9):
    shape = square(300, 100, 90, 120) if outline is None else outline
    straight = len(shape) == 4
    return Piece(subject, shape, shape, guessed=guessed, support=support, likely=likely, straight=straight)


def photo_of(*, vouched=False, grey=False, pieces=1, laid=()):
    return PhotoGrounds(vouched, grey, pieces, laid)


def test_a_sheet_under_the_card_is_no_piece_and_a_tile_beside_it_is():
    assert lies_under(square(60, 60, 240, 200), [CARD], SETTINGS)
    assert not lies_under(square(250, 100, 90, 120), [CARD], SETTINGS)
    assert not lies_under(square(240, 60, 200, 200), [CARD], SETTINGS)  # pushed against one side
    assert not lies_under(square(60, 60, 240, 200), [], SETTINGS)


def test_a_sheet_under_the_card_is_doubted_whoever_vouches():
    sheet = piece_of(Subject.TILE, support=0.9, outline=square(60, 60, 240, 200))
    assert doubt_subject(sheet, photo_of(vouched=True, laid=(CARD,)), False, SETTINGS)


@pytest.mark.parametrize(
    ("photo", "likely", "too_small"),
    [
        (photo_of(grey=True), 0.9, False),
        (photo_of(), 0.15, False),
        (photo_of(), None, True),
        (photo_of(pieces=4), 0.9, False),
    ],
    ids=["no colour", "unlike pottery", "too small", "a scene"],
)
def test_what_no_glaze_photo_shows_is_doubted_unless_somebody_vouches(photo, likely, too_small):
    pot = piece_of(Subject.WARE, likely=likely)
    assert doubt_subject(pot, photo, too_small, SETTINGS)
    vouched = photo_of(vouched=True, grey=photo.grey, pieces=photo.pieces)
    assert not doubt_subject(pot, vouched, too_small, SETTINGS)


def test_straight_sides_and_a_plain_close_up_are_believed():
    tile = piece_of(Subject.TILE, guessed=False, support=0.8)
    assert not doubt_subject(tile, photo_of(grey=True), False, SETTINGS)
    assert not doubt_subject(piece_of(Subject.PATCH), photo_of(), False, SETTINGS)


def test_straight_sides_do_not_make_a_book_a_tile():
    book = piece_of(Subject.TILE, guessed=False, support=0.8, likely=0.15)
    assert doubt_subject(book, photo_of(), False, SETTINGS)
