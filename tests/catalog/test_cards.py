"""Taught cards are kept with their photo; the newest of a size counts; a reading keeps what it rests on."""

import hashlib
from dataclasses import replace
from datetime import date

from catalog.checkup import find_problems
from catalog.records import PieceDraft
from vision.reading import Calibration, CalibrationKind, Taught
from vision.taught_card import TaughtCard

CARD = TaughtCard(
    "A6", {94.0: (93.0, 0.2, 1.0), 60.0: (58.1, 0.4, -0.3)}, (94.5, 0.1, -1.0), date(2026, 3, 1), 0.7
)


def test_the_newest_of_a_size_counts(catalog):
    assert catalog.cards.taught() == ()
    catalog.cards.teach(CARD, b"one", "a.jpg")
    catalog.cards.teach(replace(CARD, layout="A5"), b"two", "b.jpg")
    newer = replace(CARD, on=date(2026, 5, 1), residual_delta_e_00=0.5)
    catalog.cards.teach(newer, b"one", "a.jpg")
    assert catalog.cards.taught() == (replace(CARD, layout="A5"), newer)
    assert catalog.photo_bytes(hashlib.sha256(b"two").hexdigest()) == b"two"
    assert find_problems(catalog) == ()
    catalog.cards.forget("A6")
    assert [card.layout for card in catalog.cards.taught()] == ["A5"]


def test_a_reading_keeps_the_teaching_it_rests_on(catalog, photo):
    taught = Taught(date(2026, 3, 1), 0.7, 24)
    reading = replace(photo(), calibration=Calibration(CalibrationKind.CARD, 0.07, 1.2, taught))
    catalog.file_photo(b"a", reading, [PieceDraft(0, code="T-0001")])
    catalog.file_photo(b"b", photo(name="b.jpg"), [PieceDraft(0, code="T-0002")])
    assert catalog.piece("T-0001").readings[0].taught == taught
    assert catalog.piece("T-0002").readings[0].taught is None
