"""The shipped tables keep their own rules, and the condition language reads as written."""

import pytest

from catalog.causes.errors import KnowledgeError, UnknownFactError, UnknownFaultError
from catalog.causes.knowledge import (
    Condition,
    causes_of,
    fault_info,
    fault_names,
    fault_of,
    parse_condition,
    parse_evidence,
)
from catalog.causes.vocabulary import fields
from catalog.package_data import read_rows


def test_every_row_is_read_and_every_field_it_uses_is_in_the_vocabulary():
    rows = read_rows("catalog.causes", "causes.csv")
    read = {rule.pair_id: rule for fault in fault_names() for rule, _ in causes_of(fault)}
    assert set(read) == {row["pair_id"] for row in rows}
    assert len(rows) == 119
    for row in rows:
        items = [
            i for key in ("evidence_for", "evidence_against") for i in row[key].split(" | ") if i.strip()
        ]
        assert len(read[row["pair_id"]].evidence) == len(items)
        for evidence in read[row["pair_id"]].evidence:
            assert all(condition.key in fields() for condition in evidence.conditions)


def test_every_row_has_a_source_a_basis_and_a_prior_and_a_trial_cost():
    rows = read_rows("catalog.causes", "causes.csv")
    costs = {row["pair_id"] for row in read_rows("catalog.causes", "trial_costs.csv")}
    for row in rows:
        assert row["source"], row["pair_id"]
        assert row["basis"] in ("read", "memory")
    assert costs == {row["pair_id"] for row in rows}


def test_shares_of_each_fault_leave_room_for_something_else():
    for fault in fault_names():
        assert 0.0 < sum(share for _, share in causes_of(fault)) < 1.0, fault


def test_every_fault_says_what_it_is_mistaken_for():
    for fault in fault_names():
        assert fault_info(fault).trade_term, fault
        assert fault_info(fault).basis
    assert "speck_dark" in fault_info("pinholed").look_alikes
    assert "raking light" in fault_info("blister").how_to_tell


def test_every_fault_has_a_caution():
    with_caution = {row["fault"] for row in read_rows("catalog.causes", "fault_cautions.csv")}
    assert set(fault_names()) <= with_caution


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("firing.cone_over_range >= 1", Condition("firing.cone_over_range", ">=", 1.0)),
        ("image.rim_sharp == false", Condition("image.rim_sharp", "==", False)),
        ("history.refire == worse", Condition("history.refire", "==", "worse")),
        ("body.bisque_cone < cone:06", Condition("body.bisque_cone", "<", "06")),
    ],
)
def test_a_condition_reads_as_written(text, expected):
    assert parse_condition(text) == expected


def test_cones_compare_on_the_ladder_and_not_as_numbers_or_letters():
    # defects.md section 7: 022 ... 01, 1, 2 ... 14; 06 is below 04
    below_06 = parse_condition("body.bisque_cone < cone:06")
    assert below_06.holds("08")
    assert below_06.holds("010")
    assert not below_06.holds("04")
    assert not below_06.holds("6")
    assert parse_condition("body.rated_cone >= cone:5").holds("10")


@pytest.mark.parametrize(
    "text",
    ["firing.cone_over_range => 1", "firing.cone_over_range >= hot", "image.rim_sharp == yes", "nothing"],
)
def test_a_condition_that_breaks_the_language_is_refused(text):
    with pytest.raises((KnowledgeError, ValueError)):
        parse_condition(text)


def test_order_does_not_apply_to_classes_and_yes_no():
    with pytest.raises(KnowledgeError, match="== only"):
        parse_condition("history.refire >= worse")


def test_an_unknown_field_and_an_unknown_strength_are_refused():
    with pytest.raises(UnknownFactError, match=r"firing\.cone_over_target"):
        parse_condition("firing.cone_over_targt >= 1")
    with pytest.raises(KnowledgeError, match="weak"):
        parse_evidence("certain: firing.cone_over_range >= 1", speaks_for=True)


def test_evidence_carries_the_ratio_of_its_strength():
    # defects.md section 7: weak 1.5, medium 3, strong 8; against divides
    text = "weak: image.gloss == matt | medium: image.gloss == satin | strong: image.gloss == gloss"
    assert [e.ratio for e in parse_evidence(text, speaks_for=True)] == [1.5, 3.0, 8.0]
    assert [e.ratio for e in parse_evidence(text, speaks_for=False)] == [1 / 1.5, 1 / 3.0, 1 / 8.0]


@pytest.mark.parametrize(
    ("word", "fault"),
    [
        ("pinholed", "pinhole"),
        ("blistered", "blister"),
        ("cratered", "crater"),
        ("crazed", "craze"),
        ("crawled", "crawl"),
        ("specked", "speck_dark"),
        ("Crazing", "craze"),
        ("orange peel", "orange_peel"),
    ],
)
def test_a_readings_adjective_names_its_fault(word, fault):
    assert fault_of(word) == fault


def test_an_unknown_fault_is_refused_with_the_nearest_name():
    with pytest.raises(UnknownFaultError) as caught:
        causes_of("blistring")
    assert caught.value.nearest_fault == "blister"


def test_faults_without_causes_of_their_own_borrow_them():
    # defects.md section 7
    assert causes_of("crater") == causes_of("blister")
    assert causes_of("pit_dimple") == causes_of("pinhole")
    scum = [rule.cause_id for rule, _ in causes_of("scum_devit")]
    assert scum == ["D03_slow_cool_crystals", "D05_sulphate_or_scum"]
    assert {rule.fault for rule, _ in causes_of("pluck")} == {"run", "speck_foreign"}
