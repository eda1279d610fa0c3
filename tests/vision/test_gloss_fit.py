"""The fit of the gloss model, on made-up cues whose answer is known."""

from __future__ import annotations

import numpy as np

from vision.gloss_fit import fit_gloss


def test_a_cue_that_tells_all_gets_the_weight():
    rng = np.random.default_rng(4)
    log_roughness = rng.uniform(np.log(0.06), np.log(0.7), 240)
    rows = np.column_stack([log_roughness + rng.normal(0, 0.05, 240), rng.normal(0, 1, 240)])
    truths = [
        {
            "finish": "gloss" if value < np.log(0.22) else "satin" if value < np.log(0.42) else "matt",
            "roughness": float(np.exp(value)),
            "reflection_in_view": bool(row[1] > 0),
        }
        for value, row in zip(log_roughness, rows, strict=True)
    ]
    model = fit_gloss(("shine", "lamp"), rows, truths)
    assert model["names"] == ["shine", "lamp"]
    gloss, _, matt = (line[0] for line in model["finish"])
    assert gloss < 0 < matt
    # a straight line through its own standardised self has the standard deviation as its slope
    assert abs(model["roughness"][0] / log_roughness.std() - 1) < 0.15
    assert abs(model["roughness"][1]) < 0.05
    assert model["reflection"][1] > 5 * abs(model["reflection"][0])
