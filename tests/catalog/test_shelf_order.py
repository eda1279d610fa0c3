"""Pages of the shelf in each order, against Python's own sorting of the pieces."""

import colorsys
import random
from datetime import date

import pytest

from catalog.errors import InvalidRecordError
from catalog.records import Layer, PieceDraft
from catalog.shelf_order import SHELF_ORDERS, shelf_page


@pytest.fixture
def shelf(catalog, photo, tile):
    rng = random.Random(5)
    loads = [
        catalog.add_load(f"Load {n}", fired_on=date(2026, 3 + n, 1), cone_aimed=str(5 + n % 2)).id
        for n in range(3)
    ]
    for n in range(24):
        lab = (round(rng.uniform(10, 95), 2), round(rng.uniform(-60, 60), 2), round(rng.uniform(-60, 60), 2))
        if n % 5 == 0:
            lab = (lab[0], 1.0, -2.0)
        palette = ((lab, 0.6), ((50, 0, 0), 0.4))
        draft = PieceDraft(0, layers=(Layer(None, rng.choice(["Moss", "Ash", "Slate"])),))
        catalog.file_photo(b"%d" % n, photo(tile(0, palette), name=f"{n}.jpg"), [draft], rng.choice(loads))
    return catalog


def main_lab(piece):
    return max(piece.readings[0].tile.glaze.palette, key=lambda entry: entry.fraction).lab


def test_light_comes_before_dark(shelf):
    found, total = shelf_page(shelf, {}, order="lightness", limit=100)
    lights = [main_lab(piece).lightness for piece in found]
    assert total == len(found) == 24
    assert lights == sorted(lights, reverse=True)


def test_hues_go_round_the_circle_and_greys_stand_at_the_end(shelf):
    found, _ = shelf_page(shelf, {}, order="hue", limit=100)
    labs = [main_lab(piece) for piece in found]
    coloured = [lab for lab in labs if (lab.a_star**2 + lab.b_star**2) ** 0.5 >= 8]
    assert labs[: len(coloured)] == coloured
    # A hue wheel by another road: the turn of the vector (a*, b*) as colorsys tells it of a red-green plane.
    turns = [colorsys.rgb_to_hsv(*_on_wheel(lab))[0] for lab in coloured]
    assert turns == sorted(turns)
    greys = [lab.lightness for lab in labs[len(coloured) :]]
    assert greys == sorted(greys)


def _on_wheel(lab):
    """A saturated colour whose HSV hue is the angle of (a*, b*)."""
    import math

    angle = math.atan2(lab.b_star, lab.a_star) % (2 * math.pi)
    return colorsys.hsv_to_rgb(angle / (2 * math.pi), 1.0, 1.0)


@pytest.mark.parametrize("order", SHELF_ORDERS)
def test_pages_of_every_order_hold_each_piece_once(shelf, order):
    pages = [shelf_page(shelf, {}, order=order, limit=7, offset=at)[0] for at in range(0, 24, 7)]
    codes = [piece.code for page in pages for piece in page]
    assert len(codes) == len(set(codes)) == 24


def test_filters_hold_in_every_order(shelf):
    for order in SHELF_ORDERS:
        found, total = shelf_page(shelf, {"cone": "6", "held": False}, order=order, limit=100)
        assert total == len(found) > 0
        assert {piece.load.cone_aimed for piece in found} == {"6"}


def test_a_piece_without_a_colour_comes_last(shelf, photo, tile):
    shelf.casebook.add_piece("blister", glaze="Ash")
    found, total = shelf_page(shelf, {}, order="hue", limit=100)
    assert total == 25
    assert not found[-1].readings


def test_held_pieces_are_told_from_those_here(shelf):
    shelf.ware.set_holder("T-0003", "market stall")
    assert [p.code for p in shelf.pieces(held=True)] == ["T-0003"]
    assert shelf.count_pieces(held=False) == 23


def test_an_unknown_order_is_refused(shelf):
    with pytest.raises(InvalidRecordError):
        shelf_page(shelf, {}, order="price")
