"""What a person may not do is not offered: a reader changes nothing on any screen, a member their own."""

import re
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from app.services.unload_matching import expected_pieces
from catalog.bench.records import GlazingDraft, LayerDraft
from catalog.records import PieceDraft
from catalog.store import Catalog
from catalog.tables import PieceRow
from tests.app.test_sign_in import ANA, BEN, MAIN, quick, said  # noqa: F401 (quick is a fixture)
from tests.app.test_unloading import read as photo_read

READER = "You are here as a reader"
LOOKING = {
    *("All pieces", "Ask why", "Open this piece", "All ware", "Open it on the Shelf", "Make the report"),
    *("Sign out", "Make the package", "Earlier changes", "Keep this passphrase"),
}
"""Buttons that change nothing but what is shown, or somebody's own passphrase."""

CHOICES = {
    *(
        "Load",
        "Glaze",
        "Fault",
        "Sorted by",
        "Piece",
        "Fires from cone",
        "to cone",
        "Clay",
        "Sheet of labels",
    ),
    *("Pieces of this load", "Do without", "By whom", "Photo", "I have or want it", "Sheet of labels"),
}
"""Fields that only look or try out; any other kept at a touch must be off."""

MAKING = {
    *("Make it", "Keep as a new revision", "Make this load", "Keep this clay", "Set codes aside"),
    *("Make this bucket", "Keep: 2 pieces glazed", "Add a layer under it", "Keep"),
}
"""Buttons by which a member makes what is theirs then."""

CLOSED = {"Keep the places", "Keep the weight"}
"""Buttons that are off until something of one's own is changed."""

VIEWS = [
    ("shelf", {"gb_piece": "T-0004"}, {}, "this piece"),
    ("why", {"gb_piece": "T-0004"}, {}, "this piece"),
    ("ware", {}, {"ware": "T-0004"}, "this piece"),
    ("firings", {"firings_choice": "One load"}, {}, "this load"),
    ("firings", {"firings_choice": "Clays and sizes"}, {}, "this clay"),
    ("print", {"gb_kept_sheet": "Reference card"}, {}, "what the card was taught"),
    ("print", {"gb_kept_sheet": "Labels", "gb_kept_labels_for": "Pieces still to be made"}, {}, None),
    ("glazes", {"gb_kept_glaze_work": "Own materials"}, {}, None),
    ("studio", {}, {}, None),
]


def shared(studio: Path, role: str) -> str:
    """Add a keeper and Ben; gives the token of Ben's sign-in."""
    with Catalog.open(studio) as catalog:
        catalog.bench.add_bucket("Slate blue", gravity=1.4)
        catalog.bench.glaze(GlazingDraft((LayerDraft("B-0001", "dip", 1, 3.0),), new=2))
        catalog.people.add("Ana", "keeper", passphrase=ANA)
        catalog.people.add("Ben", role, passphrase=BEN)
        return catalog.sign_ins.by_passphrase("Ben", BEN)


def seen(token: str, view: str, kept: dict, query: dict) -> AppTest:
    app = AppTest.from_file(MAIN, default_timeout=60)
    app.session_state["gb_sign_in"] = token
    for name, value in kept.items():
        app.session_state[name] = value
    for name, value in query.items():
        app.query_params[name] = value
    app = app.switch_page(f"views/{view}.py").run()
    assert not app.exception
    return app


def test_a_reader_is_offered_nothing_that_changes_anything(studio):
    token = shared(studio, "reader")
    for view, kept, query, _ in VIEWS:
        app = seen(token, view, kept, query)
        assert {button.label for button in app.button if not button.disabled} <= LOOKING, view
        assert {field.label for field in app.selectbox if not field.disabled} <= CHOICES, view
        assert not app.get("file_uploader"), view
        if view != "studio":
            assert READER in said(app), view
            assert said(app).count(READER) == 1, view


def test_a_member_is_told_whose_a_thing_is_and_makes_new_ones(studio):
    token = shared(studio, "member")
    for view, kept, query, thing in VIEWS:
        app = seen(token, view, kept, query)
        labels = {button.label for button in app.button if not button.disabled}
        assert READER not in said(app), view
        if thing is not None:
            assert f"Only a keeper may change {thing}." in said(app), view
            assert labels <= LOOKING | MAKING | CLOSED, view
        if view == "firings" and thing == "this load":
            assert "Make this load" in labels
            assert not {"Keep the schedule", "Keep changes"} & labels


def test_what_is_a_members_own_is_theirs_on_every_screen(studio):
    token = shared(studio, "member")
    with Catalog.open(studio) as catalog:
        ben = catalog.acting_as(catalog.people.named("Ben"))
        (code,) = ben.bench.make_pieces(1)
        load, body = ben.add_load("Ben's load"), ben.add_body("Ben's clay")
    for view, kept, query, button in (
        ("shelf", {"gb_piece": code}, {}, "Take it off the shelf"),
        ("ware", {}, {"ware": code}, "Keep who has it"),
        ("firings", {"firings_choice": "One load", "gb_kept_load": load.id}, {}, "Keep the schedule"),
        ("firings", {"firings_choice": "Clays and sizes", "gb_kept_clay": body.name}, {}, "Keep the bars"),
    ):
        app = seen(token, view, kept, query)
        assert button in {each.label for each in app.button}, view
        assert "Only" not in re.sub(r"Only (how|the|what)", "", said(app)), view


@pytest.mark.parametrize(
    ("part", "seen_there"),
    [
        ("Glaze", "T-0007, T-0008"),
        ("Stages", "2 pieces"),
        ("Buckets", "B-0001"),
        ("Before loading", "2 pieces glazed and in no load yet"),
    ],
)
def test_a_reader_looks_at_the_bench_and_is_offered_nothing_there(studio, part, seen_there):
    app = seen(shared(studio, "reader"), "bench", {"bench_choice": part}, {})
    assert said(app).count(READER) == 1
    assert not {button.label for button in app.button}
    for kind in ("selectbox", "multiselect", "text_input", "number_input", "date_input", "file_uploader"):
        assert not app.get(kind), kind
    shown = said(app) + " ".join(str(table.value.to_dict("records")) for table in app.dataframe)
    assert seen_there in shown


def test_on_unload_only_photos_of_ones_own_pieces_can_be_filed_and_taken_back(studio):
    token = shared(studio, "member")
    with Catalog.open(studio) as catalog:
        ben = catalog.acting_as(catalog.people.named("Ben"))
        (mine,) = ben.bench.make_pieces(1)
        load = catalog.add_load("November")
        for code in ("T-0007", mine):
            with catalog.database.writing() as session:
                session.query(PieceRow).filter_by(code=code).one().load_id = load.id
        unloading = ben.unloadings.begin(load.id)
        for name, codes in (("theirs.jpg", ["T-0007", None]), ("mine.jpg", [mine])):
            photo_read(ben, unloading, name, codes)
        assert [piece.code for piece in expected_pieces(catalog, load.id, [])] == ["T-0007", mine]
        assert [piece.code for piece in expected_pieces(ben, load.id, [])] == [mine]
    app = seen(token, "unload", {"gb_kept_unloading": unloading.id}, {})
    assert "Only a keeper may change T-0007." in said(app)
    assert "Untick such a piece" in said(app)
    next(button for button in app.button if button.label.startswith("File")).click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        assert (len(catalog.piece(mine).readings), catalog.piece("T-0007").readings) == (1, ())
        theirs, _ = catalog.unloadings.photos_of(unloading.id)
        assert theirs.trouble == (), "it was offered nothing that is refused"
        catalog.unloadings.say(theirs.id, [{**theirs.said[0], "file": False}, theirs.said[1]])
    app = seen(token, "unload", {"gb_kept_unloading": unloading.id}, {})
    assert "Only a keeper" not in said(app)
    assert any(button.label.startswith("File") and not button.disabled for button in app.button)
    assert f"undo_{theirs.id + 1}" in {button.key for button in app.button}
    with Catalog.open(studio) as catalog:
        catalog.unloadings.say(theirs.id, theirs.said)
        catalog.unloadings.file(theirs.id, [PieceDraft(0, "T-0007")], None)
    keys = {button.key for button in seen(token, "unload", {"gb_kept_unloading": unloading.id}, {}).button}
    assert f"undo_{theirs.id + 1}" in keys
    assert f"undo_{theirs.id}" not in keys


def test_on_the_bench_the_codes_of_others_are_named_and_kept_from_change(studio):
    token = shared(studio, "member")
    app = seen(token, "bench", {"bench_choice": "Stages"}, {})
    next(field for field in app.text_input if field.label == "Codes").input("T-0007 T-0008 T-0099")
    app.run()
    assert "Only a keeper may change T-0007, T-0008." in said(app)
    assert all(button.disabled for button in app.button if button.label.startswith("Keep"))
    with Catalog.open(studio) as catalog:
        (mine,) = catalog.acting_as(catalog.people.named("Ben")).bench.make_pieces(1)
    next(field for field in app.text_input if field.label == "Codes").input(mine)
    app.run()
    assert "Only a keeper" not in said(app)
    next(button for button in app.button if button.label.startswith("Keep: 1 piece")).click().run()
    assert not app.exception
    buckets = seen(token, "bench", {"bench_choice": "Buckets"}, {})
    assert "Only a keeper may change this bucket." in said(buckets)
    assert not {"Keep the weight", "Take it away"} & {button.label for button in buckets.button}
