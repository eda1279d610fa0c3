"""Firings: the verdict before the plot, the log kept and its columns put right, cones as found, clays."""

from pathlib import Path

import pytest

from catalog.firing.bend import WitnessReading
from catalog.store import Catalog
from tests.app.test_views import INTERNAL, opened, words

LOG = b"elapsed min,kiln temp F\n" + b"".join(
    b"%d,%.1f\n" % (m, 68 + (2318 - 68) * m / 600) for m in range(0, 601, 5)
)


def part(name: str):
    app = opened("firings")
    next(g for g in app.segmented_control if g.label == "Look at").set_value(name).run()
    return checked(app)


def checked(app):
    assert not app.exception
    said = words(app)
    assert not INTERNAL.search(said), INTERNAL.search(said)
    return app


def button(app, label: str):
    return next(each for each in app.button if each.label == label)


def test_witness_cones_speak_first_and_the_plan_with_its_doubt_after(studio: Path) -> None:
    said = words(checked(opened("firings")))
    cone = said.index("The top shelf reached cone 8 by its witness cone")
    assert cone < said.index("This schedule plans cone")
    assert "give or take" in said


def test_a_log_is_dropped_in_read_and_kept(studio: Path) -> None:
    app = checked(opened("firings"))
    app.file_uploader[0].upload("kiln.csv", LOG, "text/csv").run()
    said = words(checked(app))
    assert "°F turned into °C" in said
    assert "Unit is °F" in said
    button(app, "Keep this log").click().run()
    said = words(checked(app))
    assert "kiln.csv is kept as it came." in said
    assert "the log computes to cone" in said
    assert "This log amounts to cone" in said
    with Catalog.open(studio) as catalog:
        load = next(each for each in catalog.loads() if each.name == "Glaze firing 19 October")
        assert catalog.workshop.read_log(catalog.workshop.log(load.id)).path.peak_c == pytest.approx(1270)
    button(app, "Take it off this load").click().run()
    assert "This schedule plans" in words(checked(app))


def test_a_column_guessed_wrong_is_put_right(studio: Path) -> None:
    data = b"time min,hot temp,cold temp\n" + b"".join(
        b"%d,%d,%d\n" % (m, 20 + 2 * m, 20 + m) for m in range(0, 601, 5)
    )
    app = checked(opened("firings"))
    app.file_uploader[0].upload("two.csv", data, "text/csv").run()
    next(b for b in app.selectbox if b.label == "Temperature is in").select("cold temp").run()
    assert "Temperature was chosen: cold temp." in words(checked(app))
    button(app, "Keep this log").click().run()
    with Catalog.open(studio) as catalog:
        load = next(each for each in catalog.loads() if each.name == "Glaze firing 19 October")
        kept = catalog.workshop.log(load.id)
        assert kept.choice == {"temperature": "cold temp"}
        assert catalog.workshop.read_log(kept).path.peak_c == 620.0


def test_what_is_no_log_is_said_in_words(studio: Path) -> None:
    app = opened("firings")
    app.file_uploader[0].upload("list.csv", b"eggs,flour\nsix,much\n", "text/csv").run()
    assert "list.csv" in words(checked(app))
    assert "Keep this log" not in [each.label for each in app.button]


def test_cones_as_found_are_read_off_their_lean(studio: Path) -> None:
    with Catalog.open(studio) as catalog:
        load = next(each for each in catalog.loads() if each.name == "Glaze firing 19 October")
        catalog.workshop.set_witnesses(
            load.id, [WitnessReading("middle", "6", 90.0), WitnessReading("middle", "7", 50.0)]
        )
    said = words(checked(opened("firings")))
    assert "The middle shelf came to cone 6 and" in said
    assert "of the way to cone 7" in said


def test_fahrenheit_is_shown_and_celsius_kept(studio: Path) -> None:
    app = opened("firings")
    next(g for g in app.segmented_control if g.label == "Typed in").set_value("F").run()
    frame = next(each.value for each in app.dataframe if "rate" in each.value.columns)
    assert frame["target"].iloc[-1] == pytest.approx(1215 * 1.8 + 32)
    button(checked(app), "Keep the schedule").click().run()
    with Catalog.open(studio) as catalog:
        load = next(each for each in catalog.loads() if each.name == "Glaze firing 19 October")
    assert load.schedule[-1].target_c == pytest.approx(1215.0)
    assert load.schedule[-1].rate_c_per_h == pytest.approx(70.0)


def test_all_loads_and_what_the_kiln_is_off_by(studio: Path) -> None:
    app = part("All loads")
    table = app.dataframe[0].value
    assert list(table["Load"]) == ["Glaze firing 19 October", "Glaze firing 21 September"]
    assert table["By the course"].str.startswith("cone").all()
    said = words(part("Kiln offsets"))
    assert "Small electric kiln: the top shelf was" in said
    assert "(2 loads, spread" in said


def test_clays_are_measured_and_sizes_go_both_ways(studio: Path) -> None:
    with Catalog.open(studio) as catalog:
        dark = next(body for body in catalog.bodies() if body.name == "Dark stoneware")
        catalog.workshop.add_body_measure(dark.id, "shrinkage", {"bars": [[100, 94, 88]] * 3}, cone="6")
    app = part("Clays and sizes")
    said = words(app)
    assert "12.0 ± 0.3 % (3 bars)" in said
    next(n for n in app.number_input if n.label == "Length, mm").set_value(88.0).run()
    said = words(checked(app))
    assert "100.0 mm (between" in said
    next(b for b in app.selectbox if b.label == "I have or want it").select("wet").run()
    next(n for n in app.number_input if n.label == "Length, mm").set_value(100.0).run()
    assert "88.0 mm (between" in words(checked(app))


def test_a_clays_range_is_kept(studio: Path) -> None:
    app = part("Clays and sizes")
    next(b for b in app.selectbox if b.label == "Bisque from cone").select("06")
    next(b for b in app.selectbox if b.label == "Bisque to cone").select("04")
    button(app, "Keep the range").click().run()
    assert "cone 06 to 04" in words(checked(app))
