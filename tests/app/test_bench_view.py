"""The Bench on the screen: the first bucket, a batch, the same again, undo, stages, losses, loading."""

from pathlib import Path

import pytest

from catalog.bench.records import GlazingDraft, LayerDraft
from catalog.store import Catalog
from tests.app.test_views import INTERNAL, opened, words


def checked(app):
    assert not app.exception
    said = words(app)
    assert not INTERNAL.search(said), INTERNAL.search(said)
    return app


def part(app, name: str):
    next(g for g in app.segmented_control if g.label == "Look at").set_value(name).run()
    return checked(app)


def press(app, start: str):
    next(each for each in app.button if each.label.startswith(start)).click().run()
    return checked(app)


def field(app, kind: str, label: str):
    return next(each for each in app.get(kind) if each.label == label)


def choose(app, label: str, value: str):
    next(g for g in app.segmented_control if g.label == label).set_value(value).run()
    return checked(app)


@pytest.fixture
def with_bucket(studio: Path) -> Path:
    with Catalog.open(studio) as catalog:
        catalog.bench.add_bucket("Slate blue", gravity=1.45)
    return studio


def test_the_first_bucket_is_made_from_here(studio: Path) -> None:
    app = checked(opened("bench"))
    assert "No bucket is kept yet" in words(app)
    field(app, "selectbox", "Glaze or colour").set_value("Slate blue").run()
    field(app, "number_input", "Grams, vessel taken off").set_value(145.0).run()
    assert "Gravity 1.45" in words(app)
    press(app, "Make this bucket")
    assert any(each.label == "Keep: 20 pieces glazed" for each in app.button)
    with Catalog.open(studio) as catalog:
        (made,) = catalog.bench.buckets()
        assert (made.code, made.gravity) == ("B-0001", 1.45)


def test_a_batch_like_the_last_one_is_one_press_and_can_be_undone(with_bucket: Path) -> None:
    with Catalog.open(with_bucket) as catalog:
        body = catalog.bodies()[0]
        catalog.bench.glaze(
            GlazingDraft(
                (LayerDraft("B-0001", "dip", 2, 4.0),), new=20, kind="ware", body_id=body.id, foot_wiped=False
            )
        )
    app = press(checked(opened("bench")), "Keep: 20 pieces glazed")
    assert "20 pieces kept as glazed: W-0021 to W-0040" in words(app).replace("\\", "")
    assert "The foot was not wiped" in words(app)
    with Catalog.open(with_bucket) as catalog:
        again, first = catalog.bench.glazings()
        assert (again.layers, again.foot_wiped) == (first.layers, False)
        assert catalog.piece("W-0040").body == body
    press(app, "Undo")
    assert "Taken back: 20 pieces" in words(app)
    with Catalog.open(with_bucket) as catalog:
        assert len(catalog.bench.glazings()) == 1
        assert catalog.count_pieces(kind="ware") == 20


def test_layers_under_by_code_and_what_was_said(with_bucket: Path) -> None:
    with Catalog.open(with_bucket) as catalog:
        catalog.bench.add_bucket("Iron colour", kind="underglaze", code="U-1")
    app = press(checked(opened("bench")), "Add a layer under it")
    coats = [each for each in app.number_input if each.label == "Coats"]
    coats[-1].set_value(2).run()  # of the layer under it
    assert "usually takes three coats" in words(checked(app))
    choose(app, "Foot wiped", "yes")
    choose(app, "Pieces", "By code")
    field(app, "text_input", "Codes").set_value("T-0001, bowl-1 to bowl-3").run()
    press(app, "Keep: 4 pieces glazed")
    with Catalog.open(with_bucket) as catalog:
        done = catalog.bench.last_glazing()
        assert done.codes == ("T-0001", "bowl-1", "bowl-2", "bowl-3")
        assert [(each.bucket, each.method, each.coats) for each in done.layers] == [
            ("U-1", "brush", 2),
            ("B-0001", "dip", 1),
        ]
        assert (done.foot_wiped, done.bisque_wiped, done.catch) == (True, None, None)
        assert [layer.name for layer in catalog.piece("T-0001").layers] == [
            "Slate blue",
            "Iron colour",
            "Slate blue",
        ]


def test_the_label_of_a_bucket_is_read_off_a_photo(with_bucket: Path) -> None:
    """The label as it is printed, drawn by segno, read by zxing-cpp: two libraries, not our own code."""
    from io import BytesIO

    import segno

    with Catalog.open(with_bucket) as catalog:
        catalog.bench.add_bucket("Bracken", code="B-0077")
        catalog.bench.add_bucket("Shell white")
    out = BytesIO()
    segno.make("B-0077", error="m").save(out, kind="png", scale=8, border=6)
    app = checked(opened("bench"))
    app.session_state["glaze_bucket_more"] = True  # unfolded
    checked(app.run())
    uploader = next(each for each in app.file_uploader if each.label == "Photo of the label on the bucket")
    uploader.upload("label.png", out.getvalue(), "image/png").run()
    checked(app)
    assert field(app, "selectbox", "Bucket").value == "B-0077"


def test_stages_losses_and_their_undo(studio: Path) -> None:
    app = part(checked(opened("bench")), "Stages")
    choose(app, "Say", "New pieces")
    field(app, "number_input", "How many").set_value(5).run()
    press(app, "Make 5 pieces with codes")
    assert "T-0007 to T-0011 made" in words(app).replace("\\", "")
    choose(app, "Say", "Reached a stage")
    choose(app, "They are now", "drying")
    press(app, "All 5 that were made are drying")
    choose(app, "Say", "Lost")
    field(app, "text_input", "Codes").set_value("T-0011").run()
    press(app, "Keep: 1 piece lost")
    with Catalog.open(studio) as catalog:
        said = catalog.bench.progress()
        assert said["T-0011"].loss is not None
        assert said["T-0007"].stage == "drying"
    press(app, "Undo the last loss")
    with Catalog.open(studio) as catalog:
        assert catalog.bench.progress()["T-0011"].loss is None


def test_pieces_go_into_a_load_and_the_plan_warns(with_bucket: Path) -> None:
    with Catalog.open(with_bucket) as catalog:
        catalog.bench.glaze(GlazingDraft((LayerDraft("B-0001", "dip"),), new=3, touches=True))
        load = catalog.add_load("Glaze firing to come", kiln="Small electric kiln")
    app = part(checked(opened("bench")), "Before loading")
    assert "they grow together" in words(app)
    assert field(app, "selectbox", "Load").options == ["Glaze firing to come"]  # the others are fired
    press(app, "Put 3 pieces in it")
    assert "No glazed piece waits" in words(app)
    press(app, "Undo: take them out again")
    with Catalog.open(with_bucket) as catalog:
        assert len(catalog.bench.to_load()) == 3
    press(app, "Put 3 pieces in it")
    with Catalog.open(with_bucket) as catalog:
        assert catalog.count_pieces(load_id=load.id) == 3
    app = checked(opened("firings"))
    field(app, "selectbox", "Load").set_value(load.id).run()
    assert "they grow together" in words(checked(app))


def test_buckets_are_weighed_taken_away_and_brought_back(with_bucket: Path) -> None:
    app = part(checked(opened("bench")), "Buckets")
    field(app, "number_input", "Grams, vessel taken off").set_value(152.0).run()
    press(app, "Keep the weight")
    press(app, "Take it away")
    with Catalog.open(with_bucket) as catalog:
        assert catalog.bench.buckets() == ()
    press(app, "Undo: bring it back")
    with Catalog.open(with_bucket) as catalog:
        assert [each.gravity for each in catalog.bench.buckets()] == [1.52]


def test_a_piece_on_the_shelf_tells_what_the_bench_knows(with_bucket: Path) -> None:
    from tests.app.conftest import jpeg

    with Catalog.open(with_bucket) as catalog:
        draft = GlazingDraft(
            (LayerDraft("B-0001", "dip", 1, 3.0),), ("T-0001",), foot_wiped=False, photo=jpeg((200, 190, 180))
        )
        catalog.bench.glaze(draft)
        catalog.bench.crack_seen(["T-0001"], "bone_dry")
    app = opened("shelf")
    app.query_params["piece"] = "T-0001"
    said = words(checked(app.run())).replace("\\", "")
    assert "From bucket B-0001, gravity 1.45, 100 ml weigh 145 g" in said
    assert "Foot not wiped" in said
    assert "bone dry" in said
    next(each for each in app.toggle if each.label == "Show the photo").set_value(True).run()
    checked(app)
    assert len(app.get("image")) == 1
