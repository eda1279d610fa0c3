"""The ranking: worked by hand, its invariants, and the collected cases."""

import csv
import json
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.causes.errors import CausesError, FactValueError, UnknownFactError
from catalog.causes.fact import Fact, Origin, checked, completed
from catalog.causes.infer import NO_EVIDENCE, OTHER, THEME_CAP, infer_causes
from catalog.causes.knowledge import causes_of, fault_names
from catalog.causes.vocabulary import field, fields
from catalog.causes.weigh import OTHER_LEAST, theme_logs, together, weigh

REFERENCES = Path(__file__).parents[2] / "references"


def posterior_of(fault, facts):
    return {cause.cause_id: cause.probability for cause in infer_causes(fault, facts).causes}


def test_without_facts_the_ranking_is_the_prior_and_says_so():
    diagnosis = infer_causes("blister", {})
    assert diagnosis.notes == (NO_EVIDENCE,)
    for cause in diagnosis.causes:
        assert cause.probability == pytest.approx(cause.prior)
        assert cause.evidence == ()


# run: shares R01 0.306, R02 0.312, R03 0.16, R04 0.138, other 0.084. Pairs before any fact are 2 x 0.15 x
# share x share, four times as much for hot and thick, twice for thick and overlap:
# R01R02 0.1145664, R01R03 0.014688, R01R04 0.0126684, R02R03 0.029952, R02R04 0.0129168, R03R04 0.006624.
# Alone is the share less half of its pairs: R01 0.2350386, R02 0.2332824, R03 0.134368, R04 0.1218954.


def test_one_strong_fact_worked_by_hand():
    # cone_over_range 1 is strong (8) for R01, alone and in pairs: (0.2350386 + 0.1419228) x 8 = 3.0156912;
    # the others 0.2332824 + 0.134368 + 0.1218954 + 0.0494928 = 0.5390386; all listed 3.5547298. R01 has
    # (0.2350386 + 0.1419228 / 2) x 8 = 0.306 x 8 of it. Other would be 0.084 / 3.6387 = 0.023, held at 0.05.
    diagnosis = infer_causes("run", {"firing.cone_over_range": 1})
    got = {cause.cause_id: cause.probability for cause in diagnosis.causes}
    assert got["R01_overfire"] == pytest.approx(0.306 * 8 * 0.95 / 3.5547298)
    assert got[OTHER] == pytest.approx(0.05)
    both = {pair.causes: pair.probability for pair in diagnosis.pairs}
    assert both["R01_overfire", "R02_thick"] == pytest.approx(0.1145664 * 8 * 0.95 / 3.5547298)


def test_two_causes_worked_by_hand():
    # as above, and a coat over 1.2 mm is strong (8) for R02: alone 0.2350386 x 8 and 0.2332824 x 8, together
    # 0.1145664 x 64 = 7.3322496; R01 with R03 or R04 0.0273564 x 8, R02 with them 0.0428688 x 8; the rest
    # 0.134368 + 0.1218954 + 0.006624; all 11.9035070, other held at 0.05.
    diagnosis = infer_causes("run", {"firing.cone_over_range": 1, "application.raw_thickness_mm": 1.3})
    pair = diagnosis.pairs[0]
    assert pair.causes == ("R01_overfire", "R02_thick")
    assert pair.probability == pytest.approx(7.3322496 * 0.95 / 11.9035070)
    assert pair.why == "too thick and too hot"
    involved = {cause.cause_id: cause.involved for cause in diagnosis.causes}
    at_work = 0.2350386 * 8 + 7.3322496 + 0.0273564 * 8
    assert involved["R01_overfire"] == pytest.approx(at_work * 0.95 / 11.9035070)
    assert {cause.cause_id for cause in diagnosis.causes[:2]} == {"R01_overfire", "R02_thick"}


def test_a_glaze_by_clay_interaction_is_a_cause_of_its_own():
    # one glaze only, one clay only: strong (8) for the pair; too hot has 1/1.5 x 1/3 of both, too thick
    # 1.5 x 1/1.5, wrong batch 3 x 1/3 (seats' evidence)
    facts = completed(checked({"spread.one_glaze_only": True, "spread.one_body_only": True}))
    logs = {rule.cause_id: theme_logs(weigh(rule, facts)) for rule, _ in causes_of("blister")}
    assert logs["B20_glaze_body_pair"] == {"spread": pytest.approx(math.log(8))}
    assert logs["B01_overfire"] == {"spread": pytest.approx(math.log(1 / 4.5))}
    assert logs["B02_coat_too_thick"] == {"spread": pytest.approx(0.0)}
    assert logs["B17_batch_error"]["spread"] < math.log(3)
    for fault, cause in (("blister", "B20_glaze_body_pair"), ("pinhole", "P13_glaze_body_pair")):
        before, after = posterior_of(fault, {}), posterior_of(fault, facts)
        assert after[cause] > 3.5 * before[cause]


def test_two_causes_combine_by_theme():
    # assumption 6: the stronger word where both say the same, both words where they differ
    assert together({"firing": 2.0}, {"firing": 1.0}) == 2.0
    assert together({"firing": -2.0}, {"firing": -1.0}) == -2.0
    assert together({"firing": 2.0}, {"firing": -1.0, "body": 0.5}) == 1.5


def test_evidence_against_divides():
    # application.layers == 1 is strong against R03, alone and in every pair
    facts = completed(checked({"application.layers": 1}))
    logs = {rule.cause_id: theme_logs(weigh(rule, facts)) for rule, _ in causes_of("run")}
    assert logs["R03_overlap"] == {"application": pytest.approx(-math.log(8))}
    assert posterior_of("run", facts)["R03_overlap"] < 0.18 / 5


def test_a_theme_asked_twice_is_capped_at_ten():
    # R01: cone_over_range (8) and hold_peak_min > 20 (3) are both firing: 24, held to 10
    facts = completed(checked({"firing.cone_over_range": 1, "firing.hold_peak_min": 30}))
    (rule,) = (rule for rule, _ in causes_of("run") if rule.cause_id == "R01_overfire")
    assert THEME_CAP == 10.0
    assert theme_logs(weigh(rule, facts)) == {"firing": pytest.approx(math.log(10))}


def test_a_doubtful_fact_counts_less():
    # certainty p turns a ratio R into p R + (1 - p): 0.5 * 8 + 0.5 = 4.5
    fact = Fact("firing.cone_over_range", 1.0, Origin.COMPUTED, "computed", certainty=0.5)
    (rule,) = (rule for rule, _ in causes_of("run") if rule.cause_id == "R01_overfire")
    assert [one.ratio for one in weigh(rule, {fact.key: fact})] == [pytest.approx(4.5)]


def test_words_are_soft_evidence_and_weaker_than_a_figure():
    word = infer_causes("run", {"application.thickness_word": "thick"})
    said = word.facts["application.raw_thickness_mm"]
    assert said.origin is Origin.INFERRED
    assert said.certainty < 1.0
    figure = posterior_of("run", {"application.raw_thickness_mm": 1.3})["R02_thick"]
    assert 0.30 < posterior_of("run", {"application.thickness_word": "thick"})["R02_thick"] < figure
    both = {"application.thickness_word": "thick", "application.raw_thickness_mm": 0.5}
    assert infer_causes("run", both).facts["application.raw_thickness_mm"].value == 0.5
    hot = posterior_of("run", {"firing.heat_word": "hotter"})["R01_overfire"]
    assert 0.28 < hot < posterior_of("run", {"firing.cone_over_target": 1})["R01_overfire"]


def test_a_known_fact_that_is_not_so_speaks_against():
    # B11 of blister asks (strong) for a second glaze firing; with one firing it is (1 - 8 x 0.1) / (1 - 0.1)
    facts = completed(checked({"firing.count": 1}))
    (rule,) = (rule for rule, _ in causes_of("blister") if rule.cause_id == "B11_damp_or_reglazed")
    (line,) = weigh(rule, facts)
    assert line.how == "denied"
    assert line.ratio == pytest.approx(0.2 / 0.9)
    shown = next(c for c in infer_causes("blister", facts).causes if c.cause_id == rule.cause_id)
    assert shown.evidence_against[0].how == "denied"
    assert "it would be at least 2" in shown.evidence_against[0].sentence


def test_the_first_of_two_conditions_counts_for_a_part():
    # a speckled body and clustered marks are strong (8) for B07: with the marks' lie unknown 0.25 x 8 + 0.75
    facts = completed(checked({"body.mn_speckle": True}))
    (rule,) = (rule for rule, _ in causes_of("blister") if rule.cause_id == "B07_manganese")
    (line,) = weigh(rule, facts)
    assert line.how == "part"
    assert line.ratio == pytest.approx(2.75)


def test_what_is_said_of_earthenware_is_said_of_red_earthenware():
    kinds = {kind: posterior_of("craze", {"body.kind": kind}) for kind in ("earthenware", "red_earthenware")}
    cause = "C03_moisture_expansion"
    assert kinds["earthenware"][cause] == kinds["red_earthenware"][cause]
    assert kinds["earthenware"][cause] > 2 * posterior_of("craze", {})[cause]


def test_a_mark_nobody_has_named_is_ranked_over_several_faults():
    diagnosis = infer_causes("unclassified", {"firing.cone_over_target": 1, "firing.witness_cone": True})
    assert {cause.pair_id.split("/")[0] for cause in diagnosis.causes if cause.pair_id} == {
        "pinhole",
        "blister",
        "speck_foreign",
        "colour_off",
    }
    assert diagnosis.causes[0].cause_id in ("B01_overfire", "P09_overfire", "U01_wrong_heat")


def test_the_cone_aimed_at_stands_for_an_unknown_range():
    # defects.md section 7
    facts = completed(checked({"firing.cone_over_target": 2.0}))
    assert facts["firing.cone_over_range"].value == 2.0
    assert facts["firing.cone_under_range"].value == -2.0
    assert facts["firing.cone_over_range"].origin is Origin.INFERRED
    known = completed(checked({"firing.cone_over_target": 2.0, "firing.cone_over_range": 0.0}))
    assert known["firing.cone_over_range"].value == 0.0


def test_a_line_of_evidence_tells_value_direction_strength_and_source():
    cause = infer_causes("blistered", {"firing.cone_over_range": 2}).causes[0]
    text = cause.to_dict()["for"][0]
    assert cause.cause_id == "B01_overfire"
    assert text.startswith("Cone reached above the glaze's tested range: 2 cones")
    assert "at least 1 cone" in text
    assert "Strong evidence for" in text
    assert cause.source in text


def test_changing_the_witness_cone_changes_the_ranking():
    over = infer_causes("blister", {"firing.cone_over_target": 2, "firing.witness_cone": True})
    on = infer_causes("blister", {"firing.cone_over_target": -0.5, "firing.witness_cone": True})
    assert over.causes[0].cause_id == "B01_overfire"
    assert on.causes[0].cause_id != "B01_overfire"
    b01 = next(c for c in on.causes if c.cause_id == "B01_overfire")
    assert b01.evidence_against


def test_what_is_not_known_is_listed_with_what_it_would_mean():
    cause = next(c for c in infer_causes("run", {}).causes if c.cause_id == "R01_overfire")
    assert any("firing.cone_over_range" in line.keys for line in cause.unknown)
    assert all(line.sentence.startswith("Not known: ") for line in cause.unknown)


@pytest.mark.parametrize(
    ("key", "near"),
    [
        ("firing.cone_over_targt", "firing.cone_over_target"),
        ("cone_over_target", "firing.cone_over_target"),
        ("application.thickness_mm", "application.raw_thickness_mm"),
        ("recipe.cone_over_target", "firing.cone_over_target"),
    ],
)
def test_an_unknown_key_is_refused_with_the_nearest_known(key, near):
    with pytest.raises(UnknownFactError) as caught:
        infer_causes("blister", {key: 1})
    assert caught.value.nearest_key == near
    assert near in str(caught.value)


@pytest.mark.parametrize(
    ("key", "value", "wanted"),
    [
        ("firing.hold_peak_min", "twenty", "a number in min"),
        ("firing.hold_peak_min", True, "a number in min"),
        ("firing.hold_peak_min", float("nan"), "a number in min"),
        ("firing.witness_cone", 1, "true or false"),
        ("body.bisque_cone", 6, 'a cone as text, such as "06" or "6"'),
        ("body.bisque_cone", "0", 'a cone as text, such as "06" or "6"'),
        ("history.refire", "better", "one of not_tried, healed, same, worse"),
        ("image.domes_share", 30, "a number from 0 to 1"),
    ],
)
def test_a_value_of_the_wrong_kind_is_refused_with_what_is_wanted(key, value, wanted):
    with pytest.raises(FactValueError) as caught:
        infer_causes("blister", {key: value})
    assert caught.value.wanted == wanted


def test_stop_notices_come_first_and_nothing_is_promised():
    for fault in fault_names():
        diagnosis = infer_causes(fault, {"recipe.mn_pct": 5})
        text = " ".join(diagnosis.cautions).lower()
        assert diagnosis.cautions, fault
        for word in ("safe", "non-toxic", "harmless", "compliant", "guarantee"):
            assert word not in text, (fault, word)
    cautions = infer_causes("blister", {"recipe.mn_pct": 5}).cautions
    assert cautions[0].startswith("Not for food or drink surfaces")
    assert cautions[1].startswith("Hold: ")


def test_the_json_form_is_the_contracts():
    data = json.loads(json.dumps(infer_causes("blister", {"firing.cone_over_target": 2}).to_dict()))
    assert data["fault"] == "blister"
    for cause in data["causes"]:
        assert {"cause", "probability", "for", "against", "unknown", "remedy", "source"} <= cause.keys()
    assert sum(cause["probability"] for cause in data["causes"]) == pytest.approx(1.0, abs=0.002)
    assert OTHER in [cause["cause"] for cause in data["causes"]]
    for trial in data["next_trials"]:
        assert {"trial", "separates", "expected_gain_bits", "cost"} <= trial.keys()
    assert data["cautions"]


def values_for(key):
    spec = field(key)
    return {
        "bool": st.booleans(),
        "class": st.sampled_from(spec.allowed or ("-",)),
        "cone": st.sampled_from(("010", "06", "04", "1", "5.5", "6", "10")),
        "fraction": st.floats(0, 1),
    }.get(spec.type, st.floats(-1e3, 1e3))


SOME_FACTS = st.lists(st.sampled_from(sorted(fields())), max_size=12, unique=True).flatmap(
    lambda keys: st.fixed_dictionaries({key: values_for(key) for key in keys})
)


@settings(max_examples=30, deadline=None)
@given(fault=st.sampled_from(fault_names()), facts=SOME_FACTS)
def test_probabilities_add_to_one_and_no_fact_shuts_a_cause_out(fault, facts):
    diagnosis = infer_causes(fault, facts)
    assert math.fsum(c.probability for c in diagnosis.causes) == pytest.approx(1.0)
    assert all(c.probability > 0 for c in diagnosis.causes)
    assert [c.probability for c in diagnosis.causes] == sorted(
        (c.probability for c in diagnosis.causes), reverse=True
    )
    assert len(diagnosis.causes) == len(causes_of(fault)) + 1
    assert all(trial.expected_gain_bits <= 1.0 for trial in diagnosis.next_trials)


@settings(max_examples=30, deadline=None)
@given(fault=st.sampled_from(fault_names()), facts=SOME_FACTS.filter(lambda f: len(f) == 1))
def test_no_single_fact_is_near_certain_when_there_are_rivals(fault, facts):
    diagnosis = infer_causes(fault, facts)
    assert max(c.probability for c in diagnosis.causes) <= 0.95
    if len(causes_of(fault)) > 1:
        assert max(c.probability for c in diagnosis.causes) <= 0.93


@settings(max_examples=20, deadline=None)
@given(fault=st.sampled_from(fault_names()), facts=SOME_FACTS)
def test_something_else_never_goes_out_of_sight(fault, facts):
    other = posterior_of(fault, facts)[OTHER]
    assert other >= OTHER_LEAST - 1e-12


def read_case_facts(cell):
    facts = {}
    for item in filter(None, (part.strip() for part in cell.split(";"))):
        key, value = (part.strip() for part in item.split("=", 1))
        kind = field(key).type
        facts[key] = (
            value == "true" if kind == "bool" else value if kind in ("class", "cone") else float(value)
        )
    return facts


def more_facts():
    with (REFERENCES / "fault_cases_more_facts.csv").open(encoding="utf-8", newline="") as file:
        return {row["case_id"]: row for row in csv.DictReader(file)}


def score(name, extra=None):
    """First and first-three shares over cases with reported facts and a cause that the tables hold."""
    first = three = count = 0
    with (REFERENCES / name).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            added = (extra or {}).get(row["case_id"], {})
            expected_ids = added.get("expected_cause_ids") or row["expected_cause_ids"]
            reported = ";".join(filter(None, (row["facts_reported"], added.get("facts_added"))))
            if not reported or expected_ids == "NONE":
                continue
            count += 1
            expected = {cause.split("/")[-1] for cause in expected_ids.split("|")}
            fault = added.get("defect_id") or row["defect_id"]
            diagnosis = infer_causes(fault, read_case_facts(reported))
            ids = [cause.cause_id for cause in diagnosis.causes]
            first += ids[0] in expected
            three += bool(expected & set(ids[:3]))
    return count, first / count, three / count


@pytest.mark.parametrize(
    ("name", "extra", "cases", "first_share", "three_share"),
    [
        # Collected from public threads, each row with its source; reported facts only. The first set was
        # written by the hand that wrote the rules, so it only shows that nothing broke; the second by someone
        # who had not seen them. The plain scorer (prior times ratios) gets 0.90 and 0.95; 0.60 and 0.93.
        # Kinds of weakness were mended after its misses were read, and the shares count
        # its causes in, so its figure is no held-out one: with the shares counted on all other sources it is
        # 0.83 and 0.97, with the shares of judgement alone 0.80 and 0.97. The last row adds the facts
        # that the sources state and that the vocabulary could not hold before.
        ("fault_cases.csv", False, 39, 0.97, 0.97),
        ("fault_cases_independent.csv", False, 30, 0.86, 0.96),
        ("fault_cases_independent.csv", True, 32, 0.87, 0.99),
    ],
)
def test_the_collected_cases(name, extra, cases, first_share, three_share):
    count, first, three = score(name, more_facts() if extra else None)
    print(f"{name}{' with more facts' * extra}: {count} cases, first {first:.3f}, first three {three:.3f}")
    assert count == cases
    assert first >= first_share
    assert three >= three_share


def test_every_error_is_one_class_family():
    assert issubclass(UnknownFactError, CausesError)
    assert issubclass(FactValueError, CausesError)
