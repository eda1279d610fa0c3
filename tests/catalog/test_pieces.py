"""Pieces: found, paged, changed, removed, judged."""

from contextlib import contextmanager

import pytest
from sqlalchemy import event

from catalog.errors import (
    BodyNotFoundError,
    CodeTakenError,
    InvalidRecordError,
    JudgementNotFoundError,
    PieceNotFoundError,
    ReadingNotFoundError,
)
from catalog.records import EffectiveFault, Layer, PieceDraft, RecipeLine
from catalog.store import effective_faults


@pytest.fixture
def shelf(catalog, photo, tile):
    """Six pieces: T-0001 .. T-0005 and W-0001; odd ones white from spring, even ones dark from autumn."""
    white, dark = catalog.add_body("White", "stoneware"), catalog.add_body("Dark Möwe", "dark_stoneware")
    moss = catalog.add_recipe("Moss", [RecipeLine("quartz", 10)])
    moss2 = catalog.add_recipe("Moss", [RecipeLine("quartz", 11)], intended=["crazed"])
    spring, autumn = (
        catalog.add_load("Spring 100%", kiln="Big"),
        catalog.add_load("Autumn 1000", kiln="Small"),
    )
    faults = [{"blistered": 0.9}, {"crazed": 0.8}, {"crazed": 0.9}, {"pinholed": 0.3}, {}, {}]
    for n in range(6):
        odd = n % 2 == 0
        catalog.file_photo(
            b"%d" % n,
            photo(tile(faults=faults[n], finish="matt" if n == 4 else "gloss"), name=f"{n}.jpg"),
            [
                PieceDraft(
                    0,
                    kind="ware" if n == 5 else "tile",
                    body_id=(white if odd else dark).id,
                    layers=(Layer((moss if n < 2 else moss2).id, ""),)
                    if n < 4
                    else (Layer(None, "shop clear"),),
                    notes="a_b" if n == 3 else "",
                )
            ],
            (spring if odd else autumn).id,
        )
    catalog.ids = {"white": white.id, "moss": moss.id, "moss2": moss2.id, "spring": spring.id}
    return catalog


def codes(found):
    return " ".join(sorted(piece.code for piece in found))


@pytest.mark.parametrize(
    ("filters", "expected"),
    [
        ({}, "T-0001 T-0002 T-0003 T-0004 T-0005 W-0001"),
        ({"kind": "ware"}, "W-0001"),
        ({"load_id": "spring"}, "T-0001 T-0003 T-0005"),
        ({"body_id": "white"}, "T-0001 T-0003 T-0005"),
        ({"recipe_id": "moss"}, "T-0001 T-0002"),
        ({"recipe_id": "moss2"}, "T-0003 T-0004"),
        ({"recipe_name": "MOSS"}, "T-0001 T-0002 T-0003 T-0004"),
        ({"fault": "blister"}, "T-0001"),
        ({"fault": "crazed"}, "T-0002"),
        ({"fault": "pinholed"}, ""),
        ({"faulty": True}, "T-0001 T-0002"),
        ({"faulty": False, "kind": "tile"}, "T-0003 T-0004 T-0005"),
        ({"finish": "matt"}, "T-0005"),
        ({"codes": ["t-0002", "W-0001", "nope"]}, "T-0002 W-0001"),
        ({"codes": []}, ""),
        ({"text": "möwe"}, "T-0002 T-0004 W-0001"),
        ({"text": "MÖWE moss"}, "T-0002 T-0004"),
        ({"text": "SHOP"}, "T-0005 W-0001"),
        ({"text": "100%"}, "T-0001 T-0003 T-0005"),
        ({"text": "a_b"}, "T-0004"),
        ({"text": "blistered"}, "T-0001"),
        ({"text": "big t-0003"}, "T-0003"),
        ({"text": "t-0003 nothing"}, ""),
        ({"kind": "tile", "body_id": "white", "finish": "gloss", "text": "Moss"}, "T-0001 T-0003"),
    ],
)
def test_filters(shelf, filters, expected):
    filters = {k: shelf.ids.get(v, v) if isinstance(v, str) else v for k, v in filters.items()}
    assert codes(shelf.pieces(**filters)) == expected
    assert shelf.count_pieces(**filters) == len(expected.split())


def test_pages_cover_all_once_in_each_order(shelf):
    for order in ("newest", "oldest", "code"):
        pages = [shelf.pieces(limit=4, offset=offset, order=order) for offset in (0, 4, 8)]
        assert [len(page) for page in pages] == [4, 2, 0]
        assert codes(p for page in pages for p in page) == codes(shelf.pieces())
    assert [p.code for p in shelf.pieces(order="oldest")] == [p.code for p in shelf.pieces()][::-1]
    assert shelf.pieces(limit=1)[0].code == "W-0001"
    assert shelf.pieces(order="code", limit=1)[0].code == "T-0001"


def test_wrong_filters_are_refused(shelf):
    with pytest.raises(InvalidRecordError):
        shelf.pieces(order="colour")
    with pytest.raises(InvalidRecordError):
        shelf.pieces(kind="vase")
    with pytest.raises(TypeError, match="glaze"):
        shelf.pieces(glaze="x")


@contextmanager
def counted(catalog):
    asked = []

    def note(_connection, _cursor, statement, *_rest):
        asked.append(statement)

    event.listen(catalog.database.engine, "before_cursor_execute", note)
    yield asked
    event.remove(catalog.database.engine, "before_cursor_execute", note)


def test_a_page_costs_the_same_number_of_queries_however_long(shelf):
    with counted(shelf) as few:
        shelf.pieces(limit=2)
    with counted(shelf) as many:
        shelf.pieces()
    assert len(few) == len(many) <= 12


def test_a_missing_piece_names_the_nearest_codes(shelf):
    with pytest.raises(PieceNotFoundError) as caught:
        shelf.piece("T-003")
    assert "T-0003" in caught.value.nearest
    assert not caught.value.deleted
    with pytest.raises(ReadingNotFoundError):
        shelf.view_bytes(999)


def test_changes_keep_what_is_not_named(shelf):
    before = shelf.piece("T-0001")
    after = shelf.update_piece(
        "t-0001",
        layers=[Layer(None, "dip of slip"), Layer(shelf.ids["moss"], "", 3)],
        shelf="top",
        body_id=None,
    )
    assert after.layers == (Layer(None, "dip of slip"), Layer(shelf.ids["moss"], "Moss", 3))
    assert (after.shelf, after.body, after.load, after.readings) == (
        "top",
        None,
        before.load,
        before.readings,
    )
    assert shelf.piece("T-0001") == after


def test_a_code_changes_and_frees_the_old_one(shelf, photo):
    shelf.update_piece("T-0001", code="SLATE-1", kind="ware", notes=" x ", load_id=None)
    assert shelf.piece("slate-1").notes == "x"
    with pytest.raises(PieceNotFoundError):
        shelf.piece("T-0001")
    with pytest.raises(CodeTakenError):
        shelf.update_piece("T-0002", code="slate-1")
    shelf.update_piece("SLATE-1", code="slate-1")
    assert shelf.piece("SLATE-1").code == "slate-1"
    with pytest.raises(BodyNotFoundError):
        shelf.update_piece("slate-1", body_id=99)


def test_a_fact_is_set_and_made_unknown_again(shelf):
    assert shelf.set_fact("T-0001", "application.overlap", False).facts == {"application.overlap": False}
    assert shelf.set_fact("T-0001", "application.sg", 1.5).facts["application.sg"] == 1.5
    assert shelf.set_fact("T-0001", "application.overlap", None).facts == {"application.sg": 1.5}
    assert shelf.set_fact("T-0001", "application.overlap", None).facts == {"application.sg": 1.5}
    with pytest.raises(InvalidRecordError):
        shelf.set_fact("T-0001", "application.sg", float("nan"))
    assert shelf.piece("T-0001").facts == {"application.sg": 1.5}


def test_a_removed_piece_comes_back_with_all_it_had(shelf):
    before = shelf.piece("T-0001")
    shelf.delete_piece("T-0001")
    assert shelf.count_pieces() == 5
    assert codes(shelf.pieces(deleted=True)) == "T-0001"
    assert shelf.count_pieces(fault="blistered") == 0
    with pytest.raises(PieceNotFoundError) as caught:
        shelf.piece("T-0001")
    assert caught.value.deleted
    assert shelf.restore_piece("t-0001") == before
    assert shelf.restore_piece("t-0001") == before
    assert shelf.count_pieces(fault="blistered") == 1


def test_a_removed_code_may_be_used_again_but_then_not_restored(shelf, photo):
    shelf.delete_piece("T-0001")
    shelf.file_photo(b"new", photo(), [PieceDraft(0, code="T-0001")])
    with pytest.raises(CodeTakenError):
        shelf.restore_piece("T-0001")
    with pytest.raises(PieceNotFoundError):
        shelf.restore_piece("T-9999")


# --- a person's word


def test_a_persons_word_outranks_the_reading(shelf):
    def standing(code):
        return [(f.fault, f.by) for f in effective_faults(shelf.piece(code))]

    assert standing("T-0001") == [("blistered", "reading")]
    absent = shelf.add_judgement("T-0001", "fault", "blister", "absent", "Ana")
    assert standing("T-0001") == []
    assert shelf.count_pieces(fault="blistered") == 0
    shelf.add_judgement("T-0001", "fault", "Blisters", "present", note="felt them")
    assert effective_faults(shelf.piece("T-0001")) == (
        EffectiveFault("blistered", 1.0, "person", "felt them"),
    )
    assert shelf.count_pieces(fault="blistered") == 1
    last = shelf.add_judgement("T-0001", "fault", "blistered", "intended")
    assert standing("T-0001") == []
    shelf.remove_judgement(last.id)
    assert standing("T-0001") == [("blistered", "person")]
    assert (absent.by, absent.subject) == ("Ana", "blistered")
    assert len(shelf.piece("T-0001").judgements) == 2


def test_an_effect_the_recipe_means_is_no_fault_unless_a_person_says_so(shelf):
    assert shelf.piece("T-0003").intended == {"crazed"}
    assert effective_faults(shelf.piece("T-0003")) == ()
    shelf.add_judgement("T-0003", "fault", "crazing", "present")
    assert [f.fault for f in effective_faults(shelf.piece("T-0003"))] == ["crazed"]


def test_what_the_reading_holds_for_unlikely_does_not_stand(shelf):
    assert effective_faults(shelf.piece("T-0004")) == ()


def test_a_fault_shown_by_one_of_several_photos_stands(shelf, photo, tile):
    shelf.file_photo(b"back", photo(tile(faults={"crawled": 0.7})), [PieceDraft(0, code="T-0001")])
    assert [f.fault for f in effective_faults(shelf.piece("T-0001"))] == ["blistered", "crawled"]


def test_changed_layers_change_what_is_intended(shelf):
    shelf.update_piece("T-0003", layers=[Layer(shelf.ids["moss"], "")])
    assert [f.fault for f in effective_faults(shelf.piece("T-0003"))] == ["crazed"]
    assert shelf.count_pieces(fault="crazed") == 2


def test_a_cause_may_be_confirmed_and_a_wrong_verdict_is_refused(shelf):
    kept = shelf.add_judgement("T-0001", "cause", "B01_overfire", "fix_worked", note="cone lower")
    assert shelf.piece("T-0001").judgements == (kept,)
    with pytest.raises(InvalidRecordError):
        shelf.add_judgement("T-0001", "fault", "blister", "confirmed")
    with pytest.raises(InvalidRecordError):
        shelf.add_judgement("T-0001", "weather", "rain", "present")
    shelf.remove_judgement(kept.id)
    with pytest.raises(JudgementNotFoundError):
        shelf.remove_judgement(kept.id)
