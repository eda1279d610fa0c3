"""Who has a piece, where it stood in the kiln, and what came out where."""

from datetime import date

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from catalog.choices import Choices
from catalog.errors import InvalidRecordError, PieceNotFoundError
from catalog.records import PieceDraft
from catalog.shown_units import shown_c, shown_c_difference, shown_mm
from catalog.ware.by_place import by_place
from catalog.ware.holders import Holder

TOP, BOTTOM = ((40.0, -2.0, -20.0), (36.0, 0.0, -14.0))


@pytest.fixture
def pieces(catalog, photo, tile):
    """Two loads; on top blue, below darker and blistered; one piece without card in its photo, no shelf."""
    for number in (1, 2):
        load = catalog.add_load(f"Load {number}", kiln="Small")
        reading = photo(
            tile(0, ((TOP, 1.0),)),
            tile(1, ((BOTTOM, 1.0),), faults={"blistered": 0.9}),
            name=f"{number}.jpg",
        )
        drafts = [
            PieceDraft(0, code=f"A{number}", shelf="Top"),
            PieceDraft(1, code=f"B{number}", shelf="bottom"),
        ]
        catalog.file_photo(b"photo %d" % number, reading, drafts, load.id)
    bare = photo(tile(0, (((90.0, 0.0, 0.0), 1.0),)), calibration="none", name="bare.jpg")
    catalog.file_photo(b"bare", bare, [PieceDraft(0, code="C1")], load.id)
    return catalog.pieces()


def test_who_has_a_piece_is_kept_corrected_and_erased(catalog, pieces):
    assert catalog.ware.holders() == {}
    catalog.ware.set_holder("a1", " Παναγιώτα ", since=date(2026, 11, 1), note="market stall")
    assert catalog.ware.holders() == {"A1": Holder("Παναγιώτα", date(2026, 11, 1), "market stall")}
    catalog.ware.set_holder("A1", "the gallery")
    assert catalog.ware.holders() == {"A1": Holder("the gallery")}
    catalog.delete_piece("A1")
    assert catalog.ware.holders() == {}
    catalog.restore_piece("A1")
    catalog.ware.forget_holder("A1")
    with catalog.database.engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM piece_holder").scalar() == 0


def test_a_holder_without_a_name_or_of_no_piece_is_refused(catalog, pieces):
    with pytest.raises(InvalidRecordError):
        catalog.ware.set_holder("A1", "  ")
    with pytest.raises(PieceNotFoundError):
        catalog.ware.set_holder("Z9", "somebody")
    assert catalog.ware.holders() == {}


def test_places_are_kept_together_or_not_at_all(catalog, pieces):
    catalog.ware.set_places({"A1": ("top", "left"), "C1": ("middle", None)})
    assert catalog.ware.sides() == {"A1": "left"}
    assert catalog.piece("C1").shelf == "middle"
    with pytest.raises(InvalidRecordError):
        catalog.ware.set_places({"C1": ("bottom", None), "A1": ("top", "upwards")})
    assert catalog.piece("C1").shelf == "middle"
    catalog.ware.set_places({"A1": (None, None)})
    assert catalog.ware.sides() == {}
    assert catalog.piece("A1").shelf is None


def test_the_places_of_a_kiln_are_set_side_by_side(catalog, pieces):
    top, bottom, nowhere = by_place(pieces, {}, with_side=False)
    assert (top.shelf, bottom.shelf, nowhere.shelf) == ("top", "bottom", None)
    assert [(p.pieces, p.loads, p.measured) for p in (top, bottom, nowhere)] == [
        (2, 2, 2),
        (2, 2, 2),
        (1, 1, 0),
    ]
    assert bottom.faults == (("blistered", 2),)
    assert (top.faulty, bottom.faulty) == (0, 2)
    assert nowhere.lab is None
    assert nowhere.delta_e_00 is None
    # CIEDE2000 by scikit-image, from the mean of the four measured pieces
    mean = (np.array(TOP) + np.array(BOTTOM)) / 2
    assert top.lab.as_tuple() == pytest.approx(TOP)
    assert top.delta_e_00 == pytest.approx(deltaE_ciede2000(TOP, mean), abs=1e-6)
    assert bottom.delta_e_00 == pytest.approx(deltaE_ciede2000(BOTTOM, mean), abs=1e-6)


def test_sides_part_a_shelf(catalog, pieces):
    found = by_place(pieces, {"A1": "left", "A2": "right"})
    assert [(p.shelf, p.side) for p in found][:2] == [("top", "left"), ("top", "right")]


def test_choices_are_kept_and_checked(catalog):
    assert catalog.preferences.get() == Choices()
    catalog.preferences.keep(Choices("de", "F", "in"))
    assert catalog.preferences.get() == Choices("de", "F", "in")
    with pytest.raises(InvalidRecordError):
        catalog.preferences.keep(Choices("de", "K", "in"))
    assert catalog.casebook.ways().region == "eu"


def test_shown_units():
    """°F by its definition, t/°F = 9/5 t/°C + 32, and 1 in = 25.4 mm (NIST SP 811, appendix B)."""
    assert [shown_c(t, "F") for t in (0, 100, 1222)] == pytest.approx([32, 212, 2231.6])
    assert shown_c_difference(60, "F") == pytest.approx(108)
    assert shown_mm(101.6, "in") == pytest.approx(4.0)
    assert (shown_c(1222, "C"), shown_mm(50, "mm")) == (1222, 50)
