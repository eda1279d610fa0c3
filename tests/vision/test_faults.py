"""Whole-piece faults follow from marks, net and patches, and claim no more than they do."""

from __future__ import annotations

import pytest

from vision.faults import call_faults, mark_density
from vision.reading import Crawling, Crazing, Mark, MarkKind, Subject

SOUND_NET = Crazing(False, 0.03, 0.0, None)
SOUND_COAT = Crawling(False, 0.02, 0.0, 0)


def mark(kind: MarkKind, probability: float) -> Mark:
    return Mark(kind, 10.0, 20.0, 8.0, probability)


def test_sound_piece_has_no_fault() -> None:
    assert call_faults(Subject.TILE, (), SOUND_NET, SOUND_COAT, 40.0) == ()


def test_each_kind_of_mark_has_its_fault() -> None:
    names = {
        kind: call_faults(Subject.PATCH, (mark(kind, 0.9),), SOUND_NET, SOUND_COAT, None)[0].fault
        for kind in MarkKind
    }
    assert names == {
        MarkKind.PINHOLE: "pinholed",
        MarkKind.BLISTER: "blistered",
        MarkKind.CRATER: "cratered",
        MarkKind.SPECK: "specked",
    }


def test_more_marks_make_surer_but_never_certain() -> None:
    one = call_faults(Subject.TILE, [mark(MarkKind.SPECK, 0.6)], SOUND_NET, SOUND_COAT, 40.0)[0].probability
    many = call_faults(Subject.TILE, [mark(MarkKind.SPECK, 0.6)] * 9, SOUND_NET, SOUND_COAT, 40.0)[
        0
    ].probability
    assert one == pytest.approx(0.6)
    assert one < many < 1


def test_unassessable_net_is_no_fault_and_a_seen_one_is() -> None:
    assert call_faults(Subject.TILE, (), Crazing(None, None), SOUND_COAT, 40.0) == ()
    calls = call_faults(Subject.TILE, (), Crazing(True, 0.9, 20.0, 4.0), Crawling(True, 0.95, 0.1, 2), 40.0)
    assert [c.fault for c in calls] == ["crawled", "crazed"]


def test_density_is_none_without_area_and_zero_where_none_is_seen() -> None:
    assert mark_density([mark(MarkKind.SPECK, 0.9)], None) == dict.fromkeys([str(k) for k in MarkKind])
    density = mark_density([mark(MarkKind.SPECK, 0.9)] * 5, 10.0)
    assert density == {"pinhole": 0.0, "blister": 0.0, "crater": 0.0, "speck": 0.5}
