"""A reader changes nothing, a member their own, a keeper all: asked of every row, not of buttons."""

import pytest
from sqlalchemy import delete

from catalog.choices import Choices
from catalog.people.errors import NotAllowedError
from catalog.records import Layer, PieceDraft
from catalog.tables import LayerRow
from tests.catalog.people.words import ANA, BEN, DORA


def file(catalog, photo, code, data=b"p"):
    catalog.file_photo(data, photo(), [PieceDraft(0, code=code, layers=(Layer(None, "slip"),))])


def steps(catalog, code, load_id, body_id):
    """Ways to change a piece, a load and a clay, each one transaction."""
    return {
        "notes": lambda: catalog.update_piece(code, notes="mine now"),
        "layers": lambda: catalog.update_piece(code, layers=[Layer(None, "moss")]),
        "fact": lambda: catalog.set_fact(code, "application.sg", 1.4),
        "off the shelf": lambda: catalog.delete_piece(code),
        "word": lambda: catalog.add_judgement(code, "fault", "blister", "absent"),
        "holder": lambda: catalog.ware.set_holder(code, "a neighbour"),
        "side": lambda: catalog.ware.set_places({code: ("top", "front")}),
        "load": lambda: catalog.update_load(load_id, notes="mine now"),
        "load gone": lambda: catalog.delete_load(load_id),
        "log": lambda: catalog.workshop.keep_log(
            load_id, b"time_min,temperature_c\n0,20\n60,600\n120,1200\n", "log.csv"
        ),
        "clay": lambda: catalog.update_body(body_id, notes="mine now"),
    }


STEPS = tuple(steps(None, "", 0, 0))


@pytest.mark.parametrize("step", STEPS)
def test_what_is_anothers_stays_as_it_is(hands, catalog, photo, step):
    ben, cleo = hands["Ben"], hands["Cleo"]
    file(ben, photo, "T-0001")
    load, body = ben.add_load("October"), ben.add_body("White")
    before = (catalog.piece("T-0001"), catalog.load(load.id), catalog.bodies())
    with pytest.raises(NotAllowedError) as caught:
        steps(cleo, "T-0001", load.id, body.id)[step]()
    assert (caught.value.name, caught.value.owner) == ("Cleo", "Ben")
    assert (catalog.piece("T-0001"), catalog.load(load.id), catalog.bodies()) == before
    steps(ben, "T-0001", load.id, body.id)[step]()
    other = hands["Ana"].add_load("November")
    if step not in ("off the shelf", "load gone"):
        steps(hands["Ana"], "T-0001", load.id, body.id)[step]()
    assert other.name == "November"


def test_a_reader_changes_nothing_at_all(hands, catalog, photo):
    dora = hands["Dora"]
    file(hands["Ana"], photo, "T-0001")
    load, body = hands["Ana"].add_load("October"), hands["Ana"].add_body("White")
    before = len(catalog.changes.list())
    ways = {
        **steps(dora, "T-0001", load.id, body.id),
        "file": lambda: file(dora, photo, "T-0002", b"other"),
        "body": lambda: dora.add_body("Red"),
        "load": lambda: dora.add_load("November"),
        "unloading": lambda: dora.unloadings.begin(),
        "codes": lambda: dora.reserve_codes(3),
        "choices": lambda: dora.preferences.keep(Choices("de", "F", "in")),
        "people": lambda: dora.people.add("Eve", "keeper", passphrase=DORA),
        "role": lambda: dora.people.set_role("Dora", "keeper"),
        "undo": lambda: dora.changes.take_back(before),
    }
    for way in ways.values():
        with pytest.raises(NotAllowedError):
            way()
    assert len(catalog.changes.list()) == before
    dora.people.set_passphrase("Dora", "another five words or so")  # her own


def test_a_member_files_anew_and_finds_gaps_closed(hands, catalog, photo):
    ben = hands["Ben"]
    file(ben, photo, "T-0001")
    file(hands["Ana"], photo, "T-0002", b"hers")
    with pytest.raises(NotAllowedError) as caught:  # a further photo of another's piece
        file(ben, photo, "T-0002", b"again")
    assert (caught.value.table, caught.value.label, caught.value.owner) == ("piece", "T-0002", "Ana")
    assert len(catalog.piece("T-0002").readings) == 1


def test_what_nobody_owned_is_the_keepers(catalog, photo):
    file(catalog, photo, "T-0001")
    body = catalog.add_body("White")
    ana = catalog.acting_as(catalog.people.add("Ana", "keeper", passphrase=ANA))
    ben = catalog.acting_as(catalog.people.add("Ben", "member", passphrase=BEN))
    for way in (
        lambda: ben.update_piece("T-0001", notes="x"),
        lambda: ben.update_body(body.id, notes="x"),
        lambda: ben.preferences.keep(Choices("de", "F", "in")),
        lambda: ben.people.set_passphrase("Ana", "another five words or so"),
        lambda: ben.people.set_role("Ben", "keeper"),
    ):
        with pytest.raises(NotAllowedError):
            way()
    assert ana.update_piece("T-0001", notes="x").notes == "x"
    assert ben.people.set_passphrase("Ben", "another five words or so").name == "Ben"


def test_taking_back_asks_for_the_same_rights(hands, photo):
    file(hands["Ben"], photo, "T-0001")
    hands["Ben"].update_piece("T-0001", notes="one")
    number = hands["Cleo"].changes.list(limit=1)[0].number
    with pytest.raises(NotAllowedError):
        hands["Cleo"].changes.take_back(number)
    assert hands["Ben"].changes.take_back(number).who == "Ben"
    assert hands["Ana"].piece("T-0001").notes == ""


def test_the_one_catalogue_of_one_potter_asks_nobody(catalog, photo):
    file(catalog, photo, "T-0001")
    assert catalog.update_piece("T-0001", notes="x").notes == "x"
    assert catalog.database.actor is None


def test_no_statement_that_changes_rows_goes_unwatched(hands, photo):
    file(hands["Ben"], photo, "T-0001")
    gone = delete(LayerRow)
    for name in ("Cleo", "Dora"):
        with pytest.raises(NotAllowedError), hands[name].database.writing() as session:
            session.execute(gone)
    with hands["Cleo"].database.writing() as session:
        for way in (session.scalar, session.scalars):
            with pytest.raises(TypeError, match="execute"):
                way(gone.returning(LayerRow.name))
    assert hands["Ana"].piece("T-0001").layers


def test_what_was_removed_comes_back_to_whom_it_was(hands, catalog):
    ana, ben, cleo = hands["Ana"], hands["Ben"], hands["Cleo"]
    own, nobodys = ben.add_load("Ben's"), catalog.add_load("From before")
    ben.delete_load(own.id)
    ana.delete_load(nobodys.id)
    (of_nobody, of_ben) = (change.number for change in catalog.changes.list(limit=2))
    for number in (of_nobody, of_ben):
        with pytest.raises(NotAllowedError):
            cleo.changes.take_back(number)
    ben.changes.take_back(of_ben)
    assert ben.update_load(own.id, notes="mine again").notes == "mine again"
    with pytest.raises(NotAllowedError):
        ben.changes.take_back(of_nobody)
    ana.changes.take_back(of_nobody)
    with pytest.raises(NotAllowedError):
        ben.update_load(nobodys.id, notes="mine now")
