"""Finish and a gloss proxy from how reflections look, or "cannot tell". Never gloss units.

What is seen in a face is told by a small net (`gloss_net.py`), fitted by `vision.gloss_fit` to renders; here
it is decided what of that is sure enough to be said.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from vision.gloss_net import ask_face
from vision.reading import Finish, Gloss
from vision.settings import GlossSettings, Settings
from vision.surface import Surface
from vision.two_lamps_light import LampPair

__all__ = ["GlossJudgement", "judge_gloss", "judge_pair_gloss", "measure_gloss"]

_NOTHING = Gloss(None, None, None)
_FINISHES = (Finish.GLOSS, Finish.SATIN, Finish.MATT)


@dataclass(frozen=True, slots=True)
class GlossJudgement:
    """A gloss reading with what lies behind it.

    Attributes
    ----------
    gloss : what is stated; None for "cannot tell"
    shares : chance of each finish, also where none is stated; None when too little glaze is in view
    reflection : chance that a lamp or window is mirrored in view
    shine : log odds of the proxy, also where none is stated
    spread : standard deviation of the natural logarithm of roughness that the proxy stands for
    """

    gloss: Gloss
    shares: dict[Finish, float] | None
    reflection: float
    shine: float = 0.0
    spread: float = 1.0


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
    seen = ask_face(surface, settings)
    if seen is None:
        return GlossJudgement(_NOTHING, None, 0.0)
    shares = dict(zip(_FINISHES, map(float, seen.finish), strict=True))
    middle, spread = seen.log_roughness
    shine = settings.proxy_steepness * (float(np.log(settings.proxy_middle)) - middle)
    return GlossJudgement(
        _stated(shares, seen.reflection, shine, settings), shares, seen.reflection, shine, spread
    )


def _stated(shares: dict[Finish, float], reflection: float, shine: float, settings: GlossSettings) -> Gloss:
    """State what is sure enough of a finish."""
    if reflection < settings.least_for_proxy:
        return _NOTHING
    finish = max(shares, key=lambda f: shares[f])
    told = reflection >= settings.least_reflection and shares[finish] >= settings.least_probability
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
    sure = weight / np.array([j.spread for j in known]) ** 2
    shine = float(sure @ np.array([j.shine for j in known]) / sure.sum())
    spread = min(j.spread for j in known)
    gloss = _stated(shares, reflection, shine, settings.gloss)
    return GlossJudgement(gloss, shares, reflection, shine, spread)


def measure_gloss(surface: Surface, settings: GlossSettings) -> Gloss:
    """Give the gloss proxy and the finish class; None where that cannot be told (flag NO_REFLECTION)."""
    return judge_gloss(surface, settings).gloss
