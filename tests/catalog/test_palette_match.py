"""Whole palettes: distances against SciPy's transport solvers, order against a plain loop over all pieces."""

import random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from catalog.errors import InvalidRecordError
from catalog.palette_match import match_palette, palette_distance
from catalog.records import PieceDraft
from vision.colour import delta_e_00
from vision.reading import Lab, PaletteEntry


def palette(rng, count):
    return tuple(
        PaletteEntry(
            Lab(round(rng.uniform(5, 95), 2), round(rng.uniform(-60, 60), 2), round(rng.uniform(-60, 60), 2)),
            s,
        )
        for s in (rng.uniform(0.1, 1) for _ in range(count))
    )


def test_equal_shares_are_an_assignment():
    """Of n colours with equal shares each, the least work is the best one-to-one match (Birkhoff 1946)."""
    rng = random.Random(2)
    for count in (2, 3, 5):
        one, two = ([PaletteEntry(e.lab, 1.0) for e in palette(rng, count)] for _ in range(2))
        far = np.array([[float(delta_e_00(a.lab.as_tuple(), b.lab.as_tuple())) for b in two] for a in one])
        rows, columns = linear_sum_assignment(far)
        assert palette_distance(one, two) == pytest.approx(far[rows, columns].mean())


def test_by_hand():
    """Black 70, white 30 into black 50, white 50: one fifth of the face goes from black to white."""
    black, white = Lab(0, 0, 0), Lab(100, 0, 0)
    whole = float(delta_e_00(black.as_tuple(), white.as_tuple()))
    one = [PaletteEntry(black, 0.7), PaletteEntry(white, 0.3)]
    two = [PaletteEntry(black, 0.5), PaletteEntry(white, 0.5)]
    assert palette_distance(one, two) == pytest.approx(0.2 * whole)
    assert palette_distance(one, one) == pytest.approx(0.0, abs=1e-9)
    assert palette_distance(two, one) == pytest.approx(palette_distance(one, two))


@pytest.fixture
def shelf(catalog, photo, tile):
    rng = random.Random(7)
    for n in range(40):
        shares = [e.fraction for e in palette(rng, rng.randint(1, 4))]
        colours = tuple(
            (e.lab.as_tuple(), round(share / sum(shares), 4))
            for e, share in zip(palette(rng, len(shares)), shares, strict=True)
        )
        finish, kind = rng.choice(["gloss", "matt"]), rng.choice(["card", "none"])
        catalog.file_photo(
            b"%d" % n,
            photo(tile(0, colours, finish=finish), name=f"{n}.jpg", calibration=kind),
            [PieceDraft(0)],
        )
    return catalog


@pytest.mark.parametrize("count", [1, 2, 3])
def test_pieces_come_in_the_order_of_a_plain_loop(shelf, count):
    wanted = palette(random.Random(count), count)
    plain = sorted(
        (palette_distance(wanted, p.readings[0].tile.glaze.palette), p.code) for p in shelf.pieces()
    )
    found = match_palette(shelf, wanted, limit=9)
    assert [m.piece.code for m in found] == [code for _, code in plain[:9]]
    assert [m.distance for m in found] == pytest.approx([far for far, _ in plain[:9]])


def test_of_a_piece_photographed_twice_the_newest_reading_speaks(catalog, photo, tile):
    for n, light in enumerate((30.0, 70.0)):
        reading = photo(tile(0, (((light, 0.0, 0.0), 1.0),)), name=f"{n}.jpg")
        catalog.file_photo(b"%d" % n, reading, [PieceDraft(0, "T-0001")])
    (found,) = match_palette(catalog, [PaletteEntry(Lab(70, 0, 0), 1.0)])
    assert found.distance == pytest.approx(0.0, abs=1e-9)


def test_limits_hold_and_a_tile_is_not_like_itself(shelf):
    own = shelf.piece("T-0004").readings[0].tile.glaze.palette
    (nearest, *_) = match_palette(shelf, own)
    assert (nearest.piece.code, nearest.distance) == ("T-0004", pytest.approx(0, abs=1e-9))
    others = match_palette(
        shelf, own, leave_out="T-0004", filters={"finish": "matt"}, calibrated_only=True, limit=50
    )
    assert others
    assert "T-0004" not in {m.piece.code for m in others}
    assert {m.calibration_kind for m in others} == {"card"}
    assert {str(m.piece.readings[0].tile.gloss.finish) for m in others} == {"matt"}


@pytest.mark.parametrize(
    "wrong",
    [
        (),
        (PaletteEntry(Lab(50, 0, 0), 0.0),),
        (PaletteEntry(Lab(150, 0, 0), 1.0),),
        palette(random.Random(1), 9),
    ],
)
def test_wrong_palettes_are_refused(catalog, wrong):
    with pytest.raises(InvalidRecordError):
        match_palette(catalog, wrong)


def test_an_empty_catalogue_has_no_palettes(catalog):
    assert match_palette(catalog, palette(random.Random(1), 2)) == ()
