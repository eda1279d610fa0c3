"""Finish and a gloss proxy from how reflections look, or "cannot tell". Never gloss units.

The weights in `gloss_model.json` are plain numbers, fitted by `vision.gloss_fit` to training renders.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.gloss_cues import gloss_cues
from vision.reading import Finish, Gloss
from vision.settings import GlossSettings
from vision.surface import Surface

__all__ = ["MODEL_FILE", "GlossJudgement", "GlossModel", "judge_gloss", "load_model", "measure_gloss"]

MODEL_FILE = Path(__file__).with_name("gloss_model.json")
_NOTHING = Gloss(None, None, None)


@dataclass(frozen=True, slots=True, eq=False)
class GlossModel:
    """Straight lines through standardised cues.

    Attributes
    ----------
    names : the cues, in the order of the arrays
    middle, spread : (cues,) mean and standard deviation of each in training
    finish : (3, cues + 1) weights of gloss, satin, matt, constant last; softmax gives their chances
    reflection : (cues + 1) weights of a reflection in view; logistic
    roughness : (cues + 1) weights of the natural logarithm of the renderer's roughness
    """

    names: tuple[str, ...]
    middle: NDArray[np.float64]
    spread: NDArray[np.float64]
    finish: NDArray[np.float64]
    reflection: NDArray[np.float64]
    roughness: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class GlossJudgement:
    """A gloss reading with what lies behind it.

    Attributes
    ----------
    gloss : what is stated; None for "cannot tell"
    shares : chance of each finish, also where none is stated; None when too little glaze is in view
    reflection : chance that a lamp or window is mirrored in view
    busyness : how strong detail is everywhere, for `vision.grounds`; None when too little glaze is in view
    """

    gloss: Gloss
    shares: dict[Finish, float] | None
    reflection: float
    busyness: float | None


@cache
def load_model() -> GlossModel:
    """Read the fitted weights."""
    found = json.loads(MODEL_FILE.read_text(encoding="utf-8"))
    arrays = {k: np.asarray(found[k]) for k in ("middle", "spread", "finish", "reflection", "roughness")}
    return GlossModel(names=tuple(found["names"]), **arrays)


def judge_gloss(surface: Surface, settings: GlossSettings) -> GlossJudgement:
    """Judge the finish, and say how sure that is.

    Parameters
    ----------
    surface : the straightened piece
    settings : `GlossSettings`

    Returns
    -------
    The judgement. Nothing is stated where nothing is mirrored (a matt and a glossy face lit from all sides
    alike look the same), and no finish where none is likely enough.
    """
    cues = gloss_cues(surface, settings)
    if cues is None:
        return GlossJudgement(_NOTHING, None, 0.0, None)
    model = load_model()
    values = np.array([cues[name] for name in model.names])
    limit = settings.most_spreads
    standard = np.append(np.clip((values - model.middle) / model.spread, -limit, limit), 1.0)
    logits = model.finish @ standard
    chances = np.exp(logits - logits.max())
    chances /= chances.sum()
    shares = dict(zip((Finish.GLOSS, Finish.SATIN, Finish.MATT), map(float, chances), strict=True))
    reflection = 1.0 / (1.0 + float(np.exp(-model.reflection @ standard)))
    shine = settings.proxy_steepness * (np.log(settings.proxy_middle) - float(model.roughness @ standard))
    finish = max(shares, key=lambda f: shares[f])
    busyness = max(
        cues["slope1_middle_ratio"] - settings.busy_slope, cues["band2_ratio"] - settings.busy_band
    )
    if reflection < settings.least_reflection:
        gloss = _NOTHING
    else:
        told = shares[finish] >= settings.least_probability
        proxy = 1.0 / (1.0 + float(np.exp(-shine)))
        gloss = Gloss(proxy, finish if told else None, shares[finish] if told else None)
    return GlossJudgement(gloss, shares, reflection, busyness)


def measure_gloss(surface: Surface, settings: GlossSettings) -> Gloss:
    """Give the gloss proxy and the finish class; None where that cannot be told (flag NO_REFLECTION)."""
    return judge_gloss(surface, settings).gloss
