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
from vision.settings import GlossSettings, Settings
from vision.surface import Surface
from vision.two_lamps_light import LampPair

__all__ = [
    "MODEL_FILE",
    "GlossJudgement",
    "GlossModel",
    "judge_gloss",
    "judge_pair_gloss",
    "load_model",
    "measure_gloss",
]

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
    shine : log odds of the proxy, also where none is stated
    """

    gloss: Gloss
    shares: dict[Finish, float] | None
    reflection: float
    shine: float = 0.0


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
        return GlossJudgement(_NOTHING, None, 0.0)
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
    return GlossJudgement(_stated(shares, reflection, shine, settings), shares, reflection, shine)


def _stated(shares: dict[Finish, float], reflection: float, shine: float, settings: GlossSettings) -> Gloss:
    """State what is sure enough of a finish."""
    if reflection < settings.least_reflection:
        return _NOTHING
    finish = max(shares, key=lambda f: shares[f])
    told = shares[finish] >= settings.least_probability
    proxy = 1.0 / (1.0 + float(np.exp(-shine)))
    return Gloss(proxy, finish if told else None, shares[finish] if told else None)


def judge_pair_gloss(pair: LampPair, settings: Settings) -> GlossJudgement:
    """Judge the finish from two photos: each is judged, and the one that mirrors more weighs more.

    Parameters
    ----------
    pair : one piece under two lamps
    settings : `settings.gloss`, `settings.two_lamps.finish_weight`
    """
    judged = [judge_gloss(surface, settings.gloss) for surface in (pair.first, pair.second)]
    known = [j for j in judged if j.shares is not None]
    if len(known) < 2:
        return known[0] if known else judged[0]
    weight = np.array([j.reflection + 0.05 for j in known])
    weight /= weight.sum()
    logs = np.array([[np.log(max(share, 1e-4)) for share in (j.shares or {}).values()] for j in known])
    chances = np.exp(settings.two_lamps.finish_weight * (weight @ logs))
    chances /= chances.sum()
    shares = dict(zip(known[0].shares or {}, map(float, chances), strict=True))
    reflection = max(j.reflection for j in known)
    shine = float(weight @ np.array([j.shine for j in known]))
    gloss = _stated(shares, reflection, shine, settings.gloss)
    return GlossJudgement(gloss, shares, reflection, shine)


def measure_gloss(surface: Surface, settings: GlossSettings) -> Gloss:
    """Give the gloss proxy and the finish class; None where that cannot be told (flag NO_REFLECTION)."""
    return judge_gloss(surface, settings).gloss
