"""Filing photos: all or nothing, no doubles, codes that never clash in silence."""

import hashlib

import pytest

from catalog.checkup import find_problems
from catalog.errors import (
    BodyNotFoundError,
    CodeTakenError,
    InvalidRecordError,
    LoadNotFoundError,
    PhotoMismatchError,
    RecipeNotFoundError,
)
from catalog.records import Layer, PieceDraft, RecipeLine
from vision.reading import METHOD
from vision.reading_json import tile_to_dict


@pytest.fixture
def studio(catalog):
    class Studio:
        white = catalog.add_body("White", "stoneware")
        dark = catalog.add_body("Dark", "dark_stoneware")
        moss = catalog.add_recipe("Moss", [RecipeLine("quartz", 10)])
        moss2 = catalog.add_recipe("Moss", [RecipeLine("quartz", 11)])
        slate = catalog.add_recipe("Slate", [RecipeLine("quartz", 20)])
        spring = catalog.add_load("Spring")
        autumn = catalog.add_load("Autumn")

    return Studio


def test_a_photo_its_readings_and_pieces_are_kept(catalog, studio, photo, tile):
    reading = photo(tile(0), tile(1, faults={"blistered": 0.9}), name="folder/IMG_1.jpg")
    drafts = [
        PieceDraft(1, code="A7", body_id=studio.dark.id, layers=(Layer(studio.moss.id, "", 2, "dip", 0.6),)),
        PieceDraft(0, kind="ware", shelf=" top ", facts={"application.sg": 1.45}, notes="rim thin"),
    ]
    filing = catalog.file_photo(b"jpeg bytes", reading, drafts, studio.spring.id, {1: b"view of one"})
    first, second = filing
    assert filing.added == ("A7", "W-0001")
    assert (first.code, first.body, first.load) == ("A7", studio.dark, studio.spring)
    assert first.layers == (Layer(studio.moss.id, "Moss", 2, "dip", 0.6),)
    assert (second.kind, second.shelf, second.facts, second.notes) == (
        "ware",
        "top",
        {"application.sg": 1.45},
        "rim thin",
    )
    (kept,) = first.readings
    assert tile_to_dict(kept.tile) == tile_to_dict(reading.tiles[1])
    assert (kept.tile_index, kept.calibration_kind, kept.mm_per_px, kept.residual_delta_e_00) == (
        1,
        "card",
        0.07,
        1.2,
    )
    assert kept.method == reading.method
    assert catalog.view_bytes(kept.id) == b"view of one"
    assert catalog.view_bytes(second.readings[0].id) is None
    assert catalog.photo_bytes(kept.photo_sha256) == b"jpeg bytes"
    assert catalog.photo(kept.photo_sha256).name == "IMG_1.jpg"
    assert catalog.photo(kept.photo_sha256).size_bytes == 10
    assert [catalog.piece(p.code) for p in filing] == list(filing)
    assert find_problems(catalog) == ()


def test_the_same_photo_again_makes_no_doubles_and_says_so(catalog, photo, tile):
    reading = photo(tile(0), tile(1), tile(2))
    first = catalog.file_photo(b"p", reading, [PieceDraft(0), PieceDraft(1)])
    again = catalog.file_photo(b"p", reading, [PieceDraft(2), PieceDraft(1, code="OTHER"), PieceDraft(0)])
    assert first.added == ("T-0001", "T-0002")
    assert (again.added, again.repeated) == (("T-0003",), ("T-0002", "T-0001"))
    assert [p.code for p in again] == ["T-0003", "T-0002", "T-0001"]
    assert catalog.count_pieces() == 3
    assert all(len(p.readings) == 1 for p in catalog.pieces())


def test_a_new_method_adds_a_reading_that_stands_in_place_of_the_old(catalog, photo, tile):
    catalog.file_photo(b"p", photo(tile(0, faults={"pinholed": 0.9})), [PieceDraft(0)])
    filing = catalog.file_photo(b"p", photo(tile(0), method={"marks": METHOD["marks"] + 1}), [PieceDraft(0)])
    assert (filing.added, filing.extended, filing.repeated) == ((), ("T-0001",), ())
    new, old = filing[0].readings
    assert (new.superseded, old.superseded) == (False, True)
    assert new.method["marks"] == old.method["marks"] + 1
    assert catalog.count_pieces(fault="pinholed") == 0


def test_a_further_photo_of_a_code_adds_a_reading_and_fills_gaps_only(catalog, studio, photo):
    catalog.file_photo(
        b"1", photo(), [PieceDraft(0, code="T-0007", shelf="top", facts={"application.sg": 1.4})]
    )
    filing = catalog.file_photo(
        b"2",
        photo(name="2.jpg"),
        [
            PieceDraft(
                0,
                code="t-0007",
                body_id=studio.white.id,
                layers=(Layer(studio.moss.id, ""),),
                shelf="bottom",
                facts={"application.sg": 1.6, "application.coats": 2},
            )
        ],
        studio.spring.id,
    )
    piece = filing[0]
    assert filing.extended == ("T-0007",)
    assert (piece.body, piece.load, piece.shelf) == (studio.white, studio.spring, "top")
    assert piece.facts == {"application.sg": 1.4, "application.coats": 2}
    assert [r.photo_sha256 for r in piece.readings] == [hashlib.sha256(d).hexdigest() for d in (b"2", b"1")]


def test_front_and_back_in_one_photo_are_one_piece(catalog, photo, tile):
    filing = catalog.file_photo(
        b"p", photo(tile(0), tile(1)), [PieceDraft(0, code="A1"), PieceDraft(1, code="A1")]
    )
    assert catalog.count_pieces() == 1
    assert len(filing[1].readings) == 2


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("body", lambda s: {"body_id": s.dark.id}),
        ("glaze", lambda s: {"layers": (Layer(s.slate.id, ""),)}),
        ("glaze", lambda s: {"layers": (Layer(None, "Slate"),)}),
        ("glaze", lambda s: {"layers": (Layer(s.moss2.id, ""),)}),
        ("glaze", lambda s: {"layers": (Layer(s.moss.id, ""), Layer(s.slate.id, ""))}),
        ("kind", lambda s: {"kind": "ware"}),
        ("load", lambda s: {"load": s.autumn.id}),
    ],
)
def test_a_code_of_another_piece_is_refused_and_nothing_of_the_photo_is_filed(
    catalog, studio, photo, tile, field, change
):
    known = {"body_id": studio.white.id, "layers": (Layer(studio.moss.id, ""),)}
    catalog.file_photo(b"1", photo(), [PieceDraft(0, code="T-0007", **known)], studio.spring.id)
    changes = change(studio)
    load_id = changes.pop("load", studio.spring.id)
    with pytest.raises(CodeTakenError) as caught:
        catalog.file_photo(
            b"2",
            photo(tile(0), tile(1)),
            [PieceDraft(0), PieceDraft(1, code="T-0007", **{**known, **changes})],
            load_id,
        )
    assert (caught.value.code, caught.value.field) == ("T-0007", field)
    assert caught.value.kept != caught.value.given
    assert [p.code for p in catalog.pieces()] == ["T-0007"]
    assert catalog.photo(hashlib.sha256(b"2").hexdigest()) is None
    assert [p.kind for p in find_problems(catalog)] == ["unknown photo"]


def test_what_only_one_side_states_is_no_clash(catalog, studio, photo):
    known = PieceDraft(0, code="A1", body_id=studio.white.id, layers=(Layer(studio.moss.id, ""),))
    catalog.file_photo(b"1", photo(), [known])
    assert catalog.file_photo(b"2", photo(), [PieceDraft(0, code="A1")])[0].body == studio.white
    named = catalog.file_photo(b"3", photo(), [PieceDraft(0, code="A1", layers=(Layer(None, "moss"),))])
    assert named[0].layers == (Layer(studio.moss.id, "Moss"),)


def test_a_patch_may_show_any_piece(catalog, photo, tile):
    catalog.file_photo(b"1", photo(), [PieceDraft(0, code="M1", kind="ware")])
    piece = catalog.file_photo(b"2", photo(tile(subject="patch")), [PieceDraft(0, code="M1", kind="patch")])[
        0
    ]
    assert (piece.kind, len(piece.readings)) == ("ware", 2)


@pytest.mark.parametrize(
    ("error", "draft", "load_id"),
    [
        (BodyNotFoundError, PieceDraft(0, body_id=99), None),
        (RecipeNotFoundError, PieceDraft(0, layers=(Layer(99, "x"),)), None),
        (LoadNotFoundError, PieceDraft(0), 99),
        (InvalidRecordError, PieceDraft(1), None),
        (InvalidRecordError, PieceDraft(-1), None),
        (InvalidRecordError, PieceDraft(0, code="two words"), None),
        (InvalidRecordError, PieceDraft(0, kind="vase"), None),
        (InvalidRecordError, PieceDraft(0, layers=(Layer(None, " "),)), None),
        (InvalidRecordError, PieceDraft(0, layers=(Layer(None, "x", coats=1.5),)), None),
        (InvalidRecordError, PieceDraft(0, layers=(Layer(None, "x", raw_thickness_mm=-0.1),)), None),
    ],
)
def test_a_wrong_draft_files_nothing(catalog, photo, error, draft, load_id):
    with pytest.raises(error):
        catalog.file_photo(b"p", photo(), [draft], load_id)
    assert catalog.count_pieces() == 0
    assert catalog.photo(hashlib.sha256(b"p").hexdigest()) is None


def test_drafts_must_be_there_and_differ(catalog, photo):
    with pytest.raises(InvalidRecordError):
        catalog.file_photo(b"p", photo(), [])
    with pytest.raises(InvalidRecordError):
        catalog.file_photo(b"p", photo(), [PieceDraft(0), PieceDraft(0)])


def test_a_reading_of_another_photo_is_refused(catalog, photo):
    other = hashlib.sha256(b"other").hexdigest()
    with pytest.raises(PhotoMismatchError) as caught:
        catalog.file_photo(b"p", photo(sha256=other), [PieceDraft(0)])
    assert caught.value.reading_sha256 == other
    assert catalog.file_photo(b"other", photo(sha256=other), [PieceDraft(0)]).added == ("T-0001",)


def test_generated_codes_go_on_after_those_given_and_are_never_given_twice(catalog, photo):
    catalog.file_photo(b"1", photo(), [PieceDraft(0, code="t-0041")])
    assert catalog.file_photo(b"2", photo(), [PieceDraft(0)]).added == ("T-0042",)
    assert catalog.reserve_codes(2) == ("T-0043", "T-0044")
    assert catalog.reserve_codes(1, "ware") == ("W-0001",)
    catalog.delete_piece("T-0042")
    assert catalog.file_photo(b"3", photo(), [PieceDraft(0)]).added == ("T-0045",)
    with pytest.raises(InvalidRecordError):
        catalog.reserve_codes(0)


def test_a_tile_without_glaze_colour_is_filed_without_colours(catalog, photo, tile):
    piece = catalog.file_photo(b"p", photo(tile(palette=())), [PieceDraft(0)])[0]
    assert piece.readings[0].tile.glaze is None
