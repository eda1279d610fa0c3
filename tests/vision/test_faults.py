"""Whole-piece faults follow from marks, net and patches, and claim no more than they do."""

from __future__ import annotations

import pytest

from vision.faults import FAULT_OF_MARK, call_faults, mark_density
from vision.reading import Crawling, Crazing, Mark, MarkKind, Subject

SOUND_NET = Crazing(False, 0.03, 0.0, None)
SOUND_COAT = Crawling(False, 0.02, 0.0, 0)


def mark(kind: MarkKind, probability: float) -> Mark:
    return Mark(kind, 10.0, 20.0, 8.0, probability)


def test_sound_piece_has_no_fault() -> None:
    assert call_faults(Subject.TILE, (), SOUND_NET, SOUND_COAT, 40.0) == ()


def test_each_kind_of_mark_has_its_fault() -> None:
    names = {
        kind: call_faults(Subject.PATCH, (mark(kind, 0.9),) * 3, SOUND_NET, SOUND_COAT, None)[0].fault
        for kind in MarkKind
    }
    assert names == {
        MarkKind.PINHOLE: "pinholed",
        MarkKind.BLISTER: "blistered",
        MarkKind.CRATER: "cratered",
        MarkKind.SPECK: "specked",
    }


def fault(*marks: Mark, kind: str = "specked") -> float:
    """Chance of a fault, 0 where it is not named at all."""
    calls = call_faults(Subject.TILE, marks, SOUND_NET, SOUND_COAT, 40.0, least_probability=0.0)
    return next((call.probability for call in calls if call.fault == kind), 0.0)


@pytest.mark.parametrize("kind", list(MarkKind))
def test_more_and_surer_marks_make_surer_but_never_certain(kind: MarkKind) -> None:
    name = FAULT_OF_MARK[kind]
    doubtful, likely = mark(kind, 0.4), mark(kind, 0.6)
    assert 0 < fault(doubtful, kind=name) < fault(likely, kind=name) < 1
    chances = [fault(*[likely] * count, kind=name) for count in (1, 2, 4, 9, 40)]
    assert chances == sorted(chances)
    assert chances[-1] < 1
    assert fault(*[mark(kind, 0.9)] * 9, kind=name) > 0.8


def test_one_doubtful_mark_is_no_fault_and_many_are() -> None:
    """A lone mark is most often another kind misnamed; a dozen half-sure ones are not all."""
    assert fault(mark(MarkKind.CRATER, 0.5), kind="cratered") < 0.5
    assert fault(*[mark(MarkKind.CRATER, 0.5)] * 12, kind="cratered") > 0.5


def test_unassessable_net_is_no_fault_and_a_seen_one_is() -> None:
    assert call_faults(Subject.TILE, (), Crazing(None, None), SOUND_COAT, 40.0) == ()
    calls = call_faults(Subject.TILE, (), Crazing(True, 0.9, 20.0, 4.0), Crawling(True, 0.95, 0.1, 2), 40.0)
    assert [c.fault for c in calls] == ["crawled", "crazed"]


def test_density_is_none_without_area_and_zero_where_none_is_seen() -> None:
    assert mark_density([mark(MarkKind.SPECK, 0.9)], None) == dict.fromkeys([str(k) for k in MarkKind])
    density = mark_density([mark(MarkKind.SPECK, 0.9)] * 5, 10.0)
    assert density == {"pinhole": 0.0, "blister": 0.0, "crater": 0.0, "speck": 0.5}
