"""Frames of a filled catalogue: what is in them, against the records; and what pandas makes of them."""

from datetime import date
from pathlib import Path

import pytest

from catalog.casebook.case import case_of
from catalog.firing.bend import WitnessReading
from catalog.frames import FRAMES, frame, frames
from catalog.glaze.formula import formula_of
from catalog.store import Catalog


@pytest.fixture
def made(studio: Path):
    with Catalog.open() as catalog:
        case = case_of(catalog, "T-0005", "blister")
        catalog.casebook.keep_word(
            "T-0005", "blister", case.diagnosis.causes[0].pair_id, "confirmed", case.plain_facts
        )
        catalog.casebook.plan_trial("T-0005", case.diagnosis, case.diagnosis.next_trials[0].about)
        yield catalog, frames(catalog)


def test_each_frame_has_its_columns_and_a_row_for_each_record(made) -> None:
    catalog, found = made
    assert {name: list(one.columns) for name, one in found.items()} == FRAMES
    pieces = catalog.pieces()
    readings = [reading for piece in pieces for reading in piece.readings]
    wanted = {
        "pieces": len(pieces),
        "readings": len(readings),
        "marks": sum(len(r.tile.marks) for r in readings),
        "palette": sum(len(r.tile.glaze.palette) for r in readings),
        "layers": sum(len(p.layers) for p in pieces),
        "loads": 2,
        "cones": 6,
        "recipes": 3,
        "outcomes": 1,
        "trials": 1,
    }
    assert {name: len(found[name]) for name in wanted} == wanted


def test_frames_join_and_answer(made) -> None:
    """Of the filled studio: only the load gone over has blisters, and more of them a square centimetre."""
    _, found = made
    joined = found["readings"].merge(found["pieces"], on="piece", suffixes=("", "_of_piece"))
    by_load = joined.groupby("load")["blister_per_cm2"].max()
    assert by_load.min() == 0
    assert by_load.max() > 0
    assert set(found["faults"].query("fault == 'blistered'")["piece"]) == {"T-0005", "T-0006"}


def test_oxides_are_those_of_the_formula(made) -> None:
    catalog, found = made
    for recipe in catalog.recipes():
        row = found["recipes"].set_index("recipe").loc[recipe.id]
        formula = formula_of(recipe.lines)
        assert row["SiO2_unity"] == pytest.approx(formula.unity["SiO2"])
        fluxes = sum(
            row[f"{oxide}_unity"] for oxide in ("Na2O", "K2O", "Li2O", "CaO", "MgO", "SrO", "BaO", "ZnO")
        )
        assert fluxes == pytest.approx(1.0)  # Seger's unity


def test_kilns_clays_ware_and_trials_have_their_frames(studio: Path) -> None:
    """Each figure against what was put in here: a log of 2 °C a minute, a bar of 100 mm, a mug lent out."""
    with Catalog.open() as catalog:
        load, body = catalog.loads()[0], catalog.bodies()[0]
        log = b"elapsed min,kiln temp C\n" + b"".join(b"%d,%d\n" % (m, 20 + 2 * m) for m in range(0, 601, 5))
        catalog.workshop.keep_log(load.id, log, "kiln.csv")
        catalog.workshop.set_witnesses(load.id, [WitnessReading("top", "6", 90.0)])
        catalog.workshop.add_body_measure(body.id, "shrinkage", {"bars": [[100.0, 94.0, 88.0]]}, cone="6")
        catalog.workshop.add_body_measure(body.id, "absorption", {"pct": 1.5})
        catalog.update_piece("T-0001", kind="ware")
        catalog.ware.set_holder("T-0001", "Corner shop", since=date(2026, 11, 3))
        catalog.ware.set_places({"T-0001": ("top", "left")})
        found = frames(catalog)
        planned = {one.id: len(one.schedule) for one in catalog.loads()}
    course = found["logs"]
    assert set(course["load"]) == {load.id}
    assert len(course) == 121
    steps = course["temperature_c"].diff().dropna() / course["time_h"].diff().dropna()
    assert steps.to_numpy() == pytest.approx(120.0)  # degrees an hour
    assert found["schedules"].groupby("load").size().to_dict() == {k: n for k, n in planned.items() if n}
    (witness,) = found["witnesses"].query("load == @load.id").to_dict("records")
    assert (witness["shelf"], witness["cone"], witness["angle_deg"]) == ("top", "6", 90.0)
    clay = found["bodies"].set_index("body").loc[body.name]
    assert clay["absorption_pct"] == 1.5
    assert clay["drying_shrinkage_pct"] == pytest.approx(6.0)
    assert clay["total_shrinkage_pct"] == pytest.approx(12.0)
    measures = found["body_measures"].set_index("figure")["value"]
    assert [measures[f"bars 1 {n}"] for n in (1, 2, 3)] == [100.0, 94.0, 88.0]
    (mug,) = found["ware"].to_dict("records")
    assert (mug["piece"], mug["holder"], mug["side"]) == ("T-0001", "Corner shop", "left")
    assert str(mug["since"]) == "2026-11-03"


def test_the_pieces_of_a_trial_join_to_it(made) -> None:
    catalog, found = made
    (trial,) = catalog.casebook.trials()
    joined = found["trial_pieces"].merge(found["trials"], on="trial", suffixes=("", "_about"))
    assert list(joined["piece"]) == [part.code for part in trial.pieces] != []
    assert set(joined["piece_about"]) == {"T-0005"}


def test_what_was_not_said_is_missing_and_an_unknown_frame_named(made) -> None:
    catalog, found = made
    waiting = found["pieces"].query("readings == 0")
    assert waiting["load"].isna().all()
    with pytest.raises(KeyError, match="pieces, readings"):
        frame(catalog, "prices")


def test_an_empty_catalogue_has_empty_frames_with_their_columns(empty_home: Path) -> None:
    with Catalog.open() as catalog:
        assert all(one.empty and list(one.columns) == FRAMES[name] for name, one in frames(catalog).items())
