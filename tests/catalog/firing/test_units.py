"""Fahrenheit in, Celsius kept: fixed points of the two scales (exact by definition) and the cone chart."""

import pytest

from catalog.firing.units import c_of_f, f_of_c, segments_from_f, segments_in_f
from catalog.records import Segment


@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0)])
def test_fixed_points(fahrenheit, celsius):
    assert c_of_f(fahrenheit) == pytest.approx(celsius, abs=1e-12)
    assert f_of_c(celsius) == pytest.approx(fahrenheit, abs=1e-12)


@pytest.mark.parametrize(("fahrenheit", "celsius"), [(2232, 1222), (2269, 1243)])
def test_the_chart_prints_both(fahrenheit, celsius):
    """Cone 6 at 60 and 150 C/h in the two columns of a shop's copy of the maker's chart."""
    assert round(c_of_f(fahrenheit)) == celsius


def test_a_rate_turns_without_the_offset_and_back():
    (kept,) = segments_from_f([Segment(108.0, 2232.0, 15.0)])
    assert kept.rate_c_per_h == pytest.approx(60.0)
    assert kept.target_c == pytest.approx(1222.22, abs=0.01)
    assert kept.hold_min == 15.0
    (shown,) = segments_in_f([kept])
    assert shown.target_c == pytest.approx(2232.0)
    assert shown.rate_c_per_h == pytest.approx(108.0)
