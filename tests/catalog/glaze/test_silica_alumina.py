"""Points on the plane of silica and alumina against worked unity formulas."""

import pytest

from catalog.glaze.silica_alumina import FiredRecipe, plane_points
from catalog.records import RecipeLine

LIME = tuple(
    RecipeLine(name, amount)
    for name, amount in (("potash feldspar", 40), ("china clay", 10), ("whiting", 20), ("silica", 30))
)
TWO_FELDSPARS = tuple(
    RecipeLine(name, amount)
    for name, amount in (
        ("soda feldspar", 20),
        ("potash feldspar", 20),
        ("kaolin", 22),
        ("chalk", 22),
        ("quartz", 16),
    )
)
NO_FLUX = (RecipeLine("kaolin", 50), RecipeLine("silica", 50))


def test_points_of_one_cone():
    # worked: Al2O3 0.407, SiO2 3.710 (duncanshearer.co.nz recipe) and 0.542, 2.998 (barrodelbajo.com.ar)
    fired = [
        FiredRecipe("lime", LIME, "9", "gloss"),
        FiredRecipe("two spars", TWO_FELDSPARS, "9"),
        FiredRecipe("low", LIME, "09"),
        FiredRecipe("wash", NO_FLUX, "9"),
    ]
    points, without = plane_points(fired, "9")
    assert [(p.name, p.finish) for p in points] == [("lime", "gloss"), ("two spars", None)]
    assert [(round(p.al2o3, 3), round(p.sio2, 3)) for p in points] == [(0.407, 3.710), (0.542, 2.998)]
    assert points[0].b2o3 == 0.0
    assert without == ("wash",)


def test_a_cone_is_text():
    points, _ = plane_points([FiredRecipe("low", LIME, "06")], "6")
    assert points == ()


def test_nothing_fired_gives_no_points():
    assert plane_points([], "6") == ((), ())


def test_boron_is_told_beside_the_point():
    frit = (RecipeLine("calcium borosilicate frit", 80), RecipeLine("kaolin", 20))
    (point,), _ = plane_points([FiredRecipe("frit", frit, "06")], "06")
    assert point.b2o3 == pytest.approx(0.6, abs=1e-3)
