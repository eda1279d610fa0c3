"""Generic clay bodies and glazes: colours thin and thick, gloss, habits. No maker's product is meant.

The colours are chosen by eye to look like common studio glazes; they claim no chemistry.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

__all__ = ["BODIES", "GLAZES", "Body", "Glaze", "finish_of", "vary_body", "vary_glaze"]

Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Body:
    """A fired clay: its colour (CIELAB D65), grain (0 smooth .. 1 grogged) and own iron specks per cm2."""

    name: str
    lab: Lab
    grain: float = 0.3
    specks_per_cm2: float = 0.0


@dataclass(frozen=True, slots=True)
class Glaze:
    """A fired glaze.

    Attributes
    ----------
    name : generic name
    thin_lab, thick_lab : diffuse colour where thin (breaking over edges) and where thick, CIELAB D65
    roughness : principled roughness: below 0.22 gloss, below 0.42 satin, above matt
    variegation : 0 even .. 1 strongly mottled
    streak : 0 none .. 1 strong flow lines downward
    thickness_mm : fired coat
    run : 0 stiff .. 1 runs into drips
    """

    name: str
    thin_lab: Lab
    thick_lab: Lab
    roughness: float
    variegation: float = 0.2
    streak: float = 0.1
    thickness_mm: float = 0.45
    run: float = 0.2


BODIES: dict[str, Body] = {
    body.name: body
    for body in (
        Body("white stoneware", (84.0, 1.5, 9.0), 0.25),
        Body("porcelain", (91.0, 0.0, 3.5), 0.08),
        Body("buff stoneware", (71.0, 6.0, 19.0), 0.45),
        Body("speckled stoneware", (74.0, 4.0, 15.0), 0.4, 6.0),
        Body("red stoneware", (47.0, 21.0, 24.0), 0.35),
        Body("dark stoneware", (29.0, 5.5, 8.0), 0.5),
    )
}

GLAZES: dict[str, Glaze] = {
    glaze.name: glaze
    for glaze in (
        Glaze("clear", (82.0, 0.5, 10.0), (77.0, -1.0, 11.0), 0.08, 0.05, 0.0, 0.35, 0.2),
        Glaze("gloss white", (88.0, 0.5, 5.0), (92.0, -0.5, 2.5), 0.10, 0.08, 0.0, 0.5, 0.15),
        Glaze("satin white", (82.0, 2.0, 10.0), (90.0, 0.2, 5.0), 0.33, 0.15, 0.05, 0.5, 0.1),
        Glaze("tin cream", (76.0, 5.0, 22.0), (87.0, 1.5, 13.0), 0.14, 0.2, 0.05, 0.5, 0.15),
        Glaze("celadon", (76.0, -5.0, 10.0), (62.0, -14.0, 9.0), 0.09, 0.15, 0.05, 0.5, 0.3),
        Glaze("amber", (66.0, 16.0, 46.0), (42.0, 24.0, 42.0), 0.09, 0.3, 0.2, 0.4, 0.5),
        Glaze("tenmoku", (44.0, 24.0, 32.0), (13.0, 4.0, 3.5), 0.10, 0.3, 0.2, 0.5, 0.5),
        Glaze("black gloss", (20.0, 3.0, 3.0), (8.0, 0.3, -0.5), 0.09, 0.05, 0.0, 0.5, 0.3),
        Glaze("matt black", (25.0, 4.0, 4.5), (15.0, 0.6, 0.3), 0.52, 0.15, 0.0, 0.5, 0.05),
        Glaze("cobalt blue", (45.0, 0.0, -22.0), (23.0, 12.0, -42.0), 0.10, 0.3, 0.2, 0.45, 0.4),
        Glaze("floating blue", (47.0, 12.0, 16.0), (40.0, -6.0, -18.0), 0.15, 0.9, 0.5, 0.6, 0.5),
        Glaze("copper green", (62.0, -14.0, 24.0), (34.0, -28.0, 16.0), 0.10, 0.4, 0.3, 0.45, 0.6),
        Glaze("turquoise", (68.0, -20.0, -4.0), (54.0, -34.0, -14.0), 0.13, 0.3, 0.1, 0.5, 0.2),
        Glaze("rutile tan", (56.0, 14.0, 26.0), (66.0, 7.0, 24.0), 0.30, 0.7, 0.5, 0.55, 0.4),
        Glaze("iron red", (40.0, 26.0, 22.0), (30.0, 24.0, 16.0), 0.24, 0.6, 0.3, 0.5, 0.3),
        Glaze("shino", (60.0, 24.0, 32.0), (82.0, 6.0, 13.0), 0.38, 0.7, 0.1, 0.7, 0.05),
        Glaze("matt stone", (58.0, 6.0, 17.0), (68.0, 2.0, 12.0), 0.58, 0.35, 0.05, 0.5, 0.05),
        Glaze("matt blue", (52.0, -4.0, -6.0), (42.0, -2.0, -23.0), 0.50, 0.4, 0.1, 0.5, 0.1),
        Glaze("chrome green", (48.0, -12.0, 16.0), (38.0, -19.0, 18.0), 0.27, 0.2, 0.0, 0.45, 0.1),
        Glaze("pink", (78.0, 10.0, 9.0), (68.0, 25.0, 8.0), 0.16, 0.15, 0.0, 0.45, 0.1),
        Glaze("yellow", (82.0, 4.0, 34.0), (79.0, 5.0, 58.0), 0.15, 0.15, 0.0, 0.45, 0.1),
        Glaze("oatmeal", (60.0, 9.0, 22.0), (75.0, 3.0, 14.0), 0.42, 0.5, 0.15, 0.55, 0.1),
    )
}


def finish_of(roughness: float) -> str:
    """Name the finish of a principled roughness: gloss below 0.22, satin below 0.42, else matt."""
    return "gloss" if roughness < 0.22 else "satin" if roughness < 0.42 else "matt"


def _shift(lab: Lab, step: np.ndarray) -> Lab:
    light, a_star, b_star = np.asarray(lab) + step
    return (float(np.clip(light, 6.0, 94.0)), float(a_star), float(b_star))


def vary_glaze(rng: np.random.Generator, glaze: Glaze) -> Glaze:
    """Give the glaze as another bucket or kiln would: colour, gloss and habits shifted."""
    common = rng.normal(0.0, (4.0, 3.0, 4.0))
    return replace(
        glaze,
        thin_lab=_shift(glaze.thin_lab, common + rng.normal(0.0, 2.0, 3)),
        thick_lab=_shift(glaze.thick_lab, common + rng.normal(0.0, 2.0, 3)),
        roughness=float(np.clip(glaze.roughness * rng.lognormal(0.0, 0.25), 0.05, 0.75)),
        variegation=float(np.clip(glaze.variegation * rng.lognormal(0.0, 0.5), 0.02, 1.0)),
        streak=float(np.clip(glaze.streak + rng.exponential(0.1), 0.0, 1.0)),
        thickness_mm=float(np.clip(glaze.thickness_mm * rng.lognormal(0.0, 0.25), 0.2, 1.1)),
        run=float(np.clip(glaze.run * rng.lognormal(0.0, 0.4), 0.0, 1.0)),
    )


def vary_body(rng: np.random.Generator, body: Body) -> Body:
    """Give the body as another bag or kiln would."""
    return replace(
        body,
        lab=_shift(body.lab, rng.normal(0.0, (3.0, 1.5, 2.5))),
        grain=float(np.clip(body.grain * rng.lognormal(0.0, 0.3), 0.05, 0.9)),
    )
