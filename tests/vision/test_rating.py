"""Ratings against size classes of ISO 4628-1 (recalled) and area classes of ISO 4628-5 (from memory)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from vision.rating import BARE_SHARE, SIZE_MM, class_of, rate, rating_to_dict
from vision.reading import Crawling, Crazing, Gloss, Mark, MarkKind, Subject, TileReading


def reading(diameters=(), density=0.0, crazing=None, crawling=None, scale=0.1):
    return TileReading(
        subject=Subject.TILE,
        outline_px=((0.0, 0.0), (9.0, 0.0), (9.0, 9.0)),
        glaze=None,
        body=None,
        gloss=Gloss(None, None, None),
        marks=tuple(Mark(MarkKind.BLISTER, 5.0, 5.0, d * 10, 0.9, 0.5, 0.5, d) for d in diameters),
        density_per_cm2={"pinhole": 0.0, "blister": density, "crater": 0.0, "speck": 0.0},
        crazing=crazing or Crazing(False, 0.1),
        crawling=crawling or Crawling(False, 0.1, 0.0, 0),
        faults=(),
        view_mm_per_px=scale,
    )


@pytest.mark.parametrize(
    ("mm", "size"), [(0.15, 2), (0.2, 2), (0.3, 3), (0.5, 3), (2.0, 4), (5.0, 4), (7.0, 5)]
)
def test_size_classes_of_part_1(mm, size):
    assert class_of(mm, SIZE_MM, 2) == size
    (rating,) = rate(reading((mm,), 0.3))
    assert (rating.fault, rating.size, rating.quantity) == ("blister", size, 3)
    assert rating.code == f"3(S{size})"


@pytest.mark.parametrize(
    ("share", "quantity"), [(0.0005, 1), (0.001, 1), (0.002, 2), (0.009, 3), (0.02, 4), (0.1, 5)]
)
def test_area_classes_of_part_5(share, quantity):
    assert class_of(share, BARE_SHARE, 1) == quantity
    (rating,) = rate(reading(crawling=Crawling(True, 0.9, share, 3)))
    assert (rating.fault, rating.quantity, rating.size) == ("crawling", quantity, None)


def test_more_line_is_a_higher_class():
    nets = [Crazing(True, 0.9, 195 / cell_mm, cell_mm) for cell_mm in (60.0, 20.0, 10.0, 4.0, 1.5)]
    assert [rate(reading(crazing=net))[0].quantity for net in nets] == [1, 2, 3, 4, 5]


def test_one_large_mark_among_small_ones_does_not_set_the_class():
    (rating,) = rate(reading((0.3, 0.4, 0.3, 6.0), 0.3))
    assert rating.size == 3


def test_nothing_found_and_no_scale_are_not_rated():
    assert rate(reading()) == ()
    assert rate(replace(reading((2.0,), 0.3), view_mm_per_px=None)) == ()
    told = rating_to_dict(reading((2.0,), 0.3))
    assert "not a test to that standard" in str(told["style"])
    assert told["faults"] == {"blister": {"code": "3(S4)", "quantity": 3, "size": 4}}
