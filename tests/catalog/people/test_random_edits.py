"""Random edits, each taken back again, give back the rows that were there."""

import shutil
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment
from catalog.store import Catalog
from tests.catalog.conftest import make_photo, make_tile
from tests.catalog.people.test_changes import rows

words = st.text("abc äß\"'%_\\", max_size=6)
names = st.sampled_from(["moss", "slip", "tin", "ash"])
layers = st.lists(
    st.builds(Layer, st.none(), names, st.none() | st.integers(1, 4), st.none() | st.just("dip")), max_size=3
)
facts = st.dictionaries(
    st.sampled_from(["application.sg", "body.note"]), st.floats(0, 9) | st.booleans() | names, max_size=2
)
cones = st.lists(st.builds(ConeResult, names, st.sampled_from(["6", "06", "8"])), max_size=2)
plans = st.lists(st.builds(Segment, st.floats(1, 300), st.floats(100, 1300), st.floats(0, 60)), max_size=3)

edits = st.one_of(
    st.tuples(st.just("piece"), st.fixed_dictionaries({"notes": words, "layers": layers, "facts": facts})),
    st.tuples(st.just("piece"), st.fixed_dictionaries({"shelf": st.none() | words, "kind": st.just("ware")})),
    st.tuples(st.just("load"), st.fixed_dictionaries({"notes": words, "cones": cones, "schedule": plans})),
    st.tuples(st.just("body"), st.fixed_dictionaries({"notes": words, "facts": facts})),
    st.tuples(st.just("add load"), names),
    st.tuples(st.just("add glaze"), names),
    st.tuples(st.just("add clay"), names),
    st.tuples(st.just("delete load"), st.none()),
    st.tuples(st.just("side"), st.sampled_from(["front", "back"])),
)


def do(catalog: Catalog, kind: str, what) -> None:
    (piece, body) = (catalog.pieces()[0].code, catalog.bodies()[0].id)
    load = catalog.loads()[-1].id if catalog.loads() else None
    if kind == "piece":
        catalog.update_piece(piece, **what)
    elif kind == "load" and load is not None:
        catalog.update_load(load, **what)
    elif kind == "body":
        catalog.update_body(body, **what)
    elif kind == "add load":
        catalog.add_load(what, schedule=[Segment(100, 1200, 10)])
    elif kind == "add glaze":
        catalog.add_recipe(
            what, [RecipeLine("whiting", 40), RecipeLine("quartz", 60 + len(catalog.recipes()))]
        )
    elif kind == "add clay" and what not in {b.name for b in catalog.bodies()}:
        catalog.add_body(what)
    elif kind == "delete load" and load is not None:
        catalog.delete_load(load)
    elif kind == "side":
        catalog.ware.set_places({piece: (None, what)})


def copied(home: Path, folder: str) -> Path:
    """Copy a catalogue, which is quicker than making one: that runs all migrations."""
    return Path(shutil.copytree(home, Path(folder) / "home"))


@given(given_edits=st.lists(edits, min_size=1, max_size=5))
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
def test_edits_taken_back_from_the_newest_on_leave_every_row_as_it_was(fresh_home, given_edits):
    with tempfile.TemporaryDirectory() as folder, Catalog.open(copied(fresh_home, folder)) as catalog:
        body = catalog.add_body("White", facts={"body.note": "fine"})
        catalog.add_load("October", cones=[ConeResult("top", "8")], schedule=[Segment(80, 120, 30)])
        draft = PieceDraft(0, code="T-0001", body_id=body.id, layers=(Layer(None, "slip"),))
        catalog.file_photo(b"p", make_photo(make_tile()), [draft])
        first = catalog.changes.list(limit=1)[0].number
        states = [rows(catalog)]
        for kind, what in given_edits:
            do(catalog, kind, what)
            states.append(rows(catalog))
        made = [c.number for c in catalog.changes.list(limit=99) if c.number > first]
        for number in made:
            catalog.changes.take_back(number)
        assert rows(catalog) == states[0]
        for change in [c for c in catalog.changes.list(limit=99) if c.takes_back][: len(made)]:
            catalog.changes.take_back(change.number)
        assert rows(catalog) == states[-1]
