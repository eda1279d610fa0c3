"""A load's places kept from its table, and the places of a kiln side by side, on the six made-up pieces."""

from pathlib import Path

from app.services.places import changed_places, place_rows, plan_rows, shelves_of, with_places
from catalog.store import Catalog
from tests.app.test_views import opened, words


def test_only_what_a_person_changed_is_kept(studio: Path) -> None:
    with Catalog.open(studio) as catalog:
        load = next(load for load in catalog.loads() if load.name == "Glaze firing 19 October")
        pieces = catalog.pieces(load_id=load.id, order="code")
        assert shelves_of(load, pieces) == ["top", "middle", "bottom"]
        before = plan_rows(pieces, catalog.ware.sides())
        after = [dict(row) for row in before]
        after[0]["side"] = "left"
        after[1]["shelf"] = float("nan")  # an emptied cell comes so out of the table
        changed = changed_places(before, after)
        assert changed == {"T-0004": ("top", "left"), "T-0005": (None, None)}
        catalog.ware.set_places(changed)
        assert catalog.ware.sides() == {"T-0004": "left"}
        assert catalog.piece("T-0005").shelf is None


def test_places_of_one_glaze_are_told_in_words(studio: Path) -> None:
    with Catalog.open(studio) as catalog:
        places = with_places(catalog, {"recipe_name": "Bracken"}, None, with_side=False)
        ((name, swatch, colour, gloss, faults, pieces),) = place_rows(places)
    assert (name, gloss, faults, pieces) == (
        "top shelf",
        "0.60 of 1",
        "2 of 2 (blistered 2)",
        "2 from 1 load",
    )
    assert colour == "L* 27.0, a* 13.0, b* 15.0 (2 measured); ΔE00 0.0 from all together, not visible"
    assert swatch is not None
    assert swatch.startswith("#")


def test_the_view_by_shelf_shows_each_shelf(studio: Path) -> None:
    app = opened("firings")
    (part,) = [one for one in app.get("button_group") if "By shelf" in str(one.proto)]
    part.set_value(["By shelf"]).run()
    assert not app.exception
    said = words(app)
    for shelf in ("top shelf", "middle shelf", "bottom shelf"):
        assert shelf in said
