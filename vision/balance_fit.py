"""Fit a colour correction: every model on every tone curve, judged by patches it has not seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vision.card_patches import PatchSample
from vision.colour import delta_e_00, lab_to_linear, linear_to_lab
from vision.settings import BalanceSettings
from vision.tone import undo_tone

__all__ = [
    "Fit",
    "Shade",
    "apply_fit",
    "colours_off",
    "fit_chart",
    "fit_gains",
    "fit_greys",
    "fit_shade",
    "gains_at",
    "paper_shade",
    "root_features",
]

Floats = NDArray[np.float64]
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722])


@dataclass(frozen=True, slots=True)
class Shade:
    """Light over the photo as a slope of its logarithm: gain exp(slope . (place - centre)) evens it out.

    Attributes
    ----------
    slope_x_per_px, slope_y_per_px : for R, G and B; they differ where a window meets a lamp
    centre_x_px, centre_y_px : where the gain is 1
    """

    slope_x_per_px: tuple[float, float, float] = (0.0, 0.0, 0.0)
    slope_y_per_px: tuple[float, float, float] = (0.0, 0.0, 0.0)
    centre_x_px: float = 0.0
    centre_y_px: float = 0.0

    def gain(self, x_px: Any, y_px: Any, limit: float, hue_limit: float) -> NDArray[np.float32]:
        """Give the (..., 3) factors that even the light out at places in the photo.

        Brightness is kept within 1/limit..limit, one channel against the mean within 1/hue_limit..hue_limit.
        """
        x = np.asarray(x_px, dtype=np.float32)[..., None] - np.float32(self.centre_x_px)
        y = np.asarray(y_px, dtype=np.float32)[..., None] - np.float32(self.centre_y_px)
        slope = x * np.array(self.slope_x_per_px, np.float32) + y * np.array(self.slope_y_per_px, np.float32)
        bright = slope.mean(axis=-1, keepdims=True)
        hue = np.clip(slope - bright, -np.log(hue_limit), np.log(hue_limit))
        return np.asarray(np.exp(np.clip(bright, -np.log(limit), np.log(limit)) + hue), dtype=np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """One fitted correction: tone, then matrix on (root) features, then the shade's gain.

    Attributes
    ----------
    model : "white balance", "linear" or "root-polynomial"
    power, contrast : of the tone curve that is undone
    matrix : (3, 3), or (6, 3) for the root-polynomial; features @ matrix is linear sRGB
    shade : slope of the light
    residual : mean CIEDE2000 left on the patches used
    left_out : mean CIEDE2000 of each patch predicted by a fit to the others
    used : how many patches
    """

    model: str
    power: float
    contrast: float
    matrix: Floats
    shade: Shade
    residual: float
    left_out: float
    used: int


def root_features(linear: NDArray[Any]) -> NDArray[Any]:
    """Give (..., 6): r, g, b and the roots of their products (Finlayson et al. 2015, degree 2).

    All scale with exposure, so a shaded tile keeps its hue.
    """
    r, g, b = linear[..., 0], linear[..., 1], linear[..., 2]
    return np.stack([r, g, b, np.sqrt(r * g), np.sqrt(g * b), np.sqrt(b * r)], axis=-1)


def fit_shade(patches: tuple[PatchSample, ...], ratio: Floats) -> Shade | None:
    """Fit the slope of log(ratio) over the photo, outliers held down.

    Parameters
    ----------
    patches : where
    ratio : (n, 3) wanted over seen linear RGB

    Returns
    -------
    None when the patches do not span a plane.
    """
    place = np.array([[p.x_px, p.y_px] for p in patches])
    centre = place.mean(axis=0)
    span = float(np.abs(place - centre).max())
    if len(patches) < 4 or span <= 0:
        return None
    design = np.c_[(place - centre) / span, np.ones(len(place))]
    if np.linalg.matrix_rank(design, tol=0.1) < 3:
        return None
    value = np.log(np.maximum(ratio, 1e-6))
    weight = np.ones(len(place))
    slope = np.zeros((3, 3))
    for _ in range(6):
        slope, *_ = np.linalg.lstsq(design * weight[:, None], value * weight[:, None], rcond=None)
        off = np.abs(value - design @ slope).max(axis=1)
        scale = 1.4826 * float(np.median(off)) + 1e-3
        weight = 1.0 / (1.0 + (off / (2.0 * scale)) ** 2)
    (xr, xg, xb), (yr, yg, yb) = (slope[:2] / span).tolist()
    return Shade((xr, xg, xb), (yr, yg, yb), float(centre[0]), float(centre[1]))


def paper_shade(papers: tuple[PatchSample, ...], settings: BalanceSettings) -> Shade | None:
    """Fit how the light falls over places of one bare paper; None when too few are fit to use."""
    bare = tuple(p for p in papers if not p.clipped)
    if len(bare) < settings.least_papers:
        return None
    seen = np.maximum(np.array([p.linear_rgb for p in bare]), 1e-4)
    return fit_shade(bare, np.median(seen, axis=0) / seen)


def _weights(wanted: Floats) -> Floats:
    """Weight light so that equal errors of L* count alike; the floor keeps black patches from ruling."""
    return np.asarray((wanted @ _LUMINANCE + 0.04) ** (-2.0 / 3.0), dtype=np.float64)


def colours_off(linear: Floats, lab: Floats) -> Floats:
    """Give the CIEDE2000 of (..., 3) linear sRGB, kept within 0..2, from CIELAB."""
    shape = linear.shape[:-1]
    out = delta_e_00(linear_to_lab(np.clip(linear, 0.0, 2.0)), np.broadcast_to(lab, (*shape, 3)))
    return np.asarray(out, dtype=np.float64)


def _solve(features: Floats, wanted: Floats, gains: Floats, ridge: float) -> tuple[Floats, Floats, Floats]:
    """Solve weighted ridge regressions, one for each tone curve, pulled towards plain gains.

    Parameters
    ----------
    features : (t, n, k); wanted : (n, 3); gains : (t, 3)

    Returns
    -------
    matrices (t, k, 3), fitted (t, n, 3), and each patch predicted without itself (t, n, 3). The last is
    exact for linear regression: the residual over one minus the leverage.
    """
    weight = _weights(wanted)[:, None]
    a, y = features * weight, wanted * weight
    k = features.shape[2]
    prior = np.zeros((len(features), k, 3))
    prior[:, [0, 1, 2], [0, 1, 2]] = gains
    gram = np.swapaxes(a, 1, 2) @ a
    gram += ridge * np.trace(gram, axis1=1, axis2=2)[:, None, None] / k * np.eye(k)
    rest = y - a @ prior
    solved = np.linalg.solve(gram, np.swapaxes(a, 1, 2))
    matrix = prior + solved @ rest
    error = y - a @ matrix
    leverage = np.clip(np.einsum("tnk,tkn->tn", a, solved), 0.0, 0.999)[..., None]
    return matrix, wanted - error / weight, wanted - error / (1.0 - leverage) / weight


def _search(
    seen: Floats,
    wanted: Floats,
    lab: Floats,
    shade: Floats,
    settings: BalanceSettings,
    near: Fit | None = None,
) -> list[Fit]:
    """Fit the three models, each on its best tone curve; simplest first. `near`: only its neighbours."""
    tones = list(product(settings.tone_powers, settings.tone_contrasts))
    if near is not None:
        power_step, contrast_step = (
            np.diff(settings.tone_powers[:2])[0],
            np.diff(settings.tone_contrasts[:2])[0],
        )
        tones = [
            (g, k)
            for g, k in tones
            if abs(g - near.power) < 1.5 * power_step and abs(k - near.contrast) < 1.5 * contrast_step
        ]
    light = np.stack([undo_tone(seen, g, k) for g, k in tones]).astype(np.float64) * shade
    light = np.maximum(light, 1e-6)
    weight = _weights(wanted)[:, None] ** 2
    energy = weight * light * light
    both = weight * light * wanted
    gains = both.sum(axis=1) / energy.sum(axis=1)
    one_out = (both.sum(axis=1, keepdims=True) - both) / (energy.sum(axis=1, keepdims=True) - energy)
    diagonal = np.zeros((len(tones), 3, 3))
    diagonal[:, [0, 1, 2], [0, 1, 2]] = gains
    models = {
        "white balance": (diagonal, light * gains[:, None], light * one_out),
        "linear": _solve(light, wanted, gains, settings.ridge),
        "root-polynomial": _solve(root_features(light), wanted, gains, settings.ridge),
    }
    fits = []
    for model, (matrix, fitted, predicted) in models.items():
        left_out = colours_off(predicted, lab).mean(axis=1)
        best = int(np.argmin(left_out))
        residual = float(colours_off(fitted[best], lab).mean())
        power, contrast = tones[best]
        fits.append(
            Fit(model, power, contrast, matrix[best], Shade(), residual, float(left_out[best]), len(seen))
        )
    return fits


def _choose(fits: list[Fit], settings: BalanceSettings) -> Fit:
    chosen = fits[0]
    for fit in fits[1:]:
        if fit.left_out < settings.simpler_gain * chosen.left_out:
            chosen = fit
    return chosen


def apply_fit(fit: Fit, linear: NDArray[Any]) -> NDArray[np.float32]:
    """Correct linear light by a fit, its shade left aside; (..., 3) float32."""
    light = undo_tone(linear, fit.power, fit.contrast)
    features = light if len(fit.matrix) == 3 else root_features(np.maximum(light, np.float32(0)))
    return np.asarray(features @ fit.matrix.astype(np.float32), dtype=np.float32)


def fit_chart(
    patches: tuple[PatchSample, ...], card_shade: Shade | None, settings: BalanceSettings
) -> Fit | None:
    """Fit a correction to a chart's patches.

    Parameters
    ----------
    patches : the 24, with published colours
    card_shade : the light's slope told by a card in the same photo; tried beside the chart's own
    settings : models, tone curves and limits

    Returns
    -------
    The fit with the smallest leave-one-patch-out error, the simpler one when they are close; None when
    fewer than `least_patches` can be used.
    """
    kept = [p for p in patches if not p.clipped]
    fit: Fit | None = None
    for _ in range(settings.most_odd + 1):
        if len(kept) < settings.least_patches:
            return None
        fit, off = _fit_shaded(tuple(kept), card_shade, settings)
        worst = int(np.argmax(off))
        if off[worst] <= max(settings.odd_delta_e_00, settings.odd_ratio * float(np.median(off))):
            break
        del kept[worst]
    return fit


def _fit_shaded(
    patches: tuple[PatchSample, ...], card_shade: Shade | None, settings: BalanceSettings
) -> tuple[Fit, Floats]:
    """Fit without shading, with the card's slope, with the chart's own; give the best and what it leaves."""
    seen = np.array([p.linear_rgb for p in patches])
    lab = np.array([p.lab for p in patches])
    wanted = lab_to_linear(lab).astype(np.float64)
    best = _choose(_search(seen, wanted, lab, np.ones((len(seen), 3)), settings), settings)
    shades = [card_shade] if card_shade is not None else []
    bright = wanted @ _LUMINANCE > 0.05
    lit = tuple(p for p, b in zip(patches, bright, strict=True) if b)
    guide = best
    for _ in range(2):
        now = np.maximum(apply_fit(guide, seen).astype(np.float64) @ _LUMINANCE, 1e-4)
        ratio = (wanted @ _LUMINANCE / now)[bright]
        own = fit_shade(lit, np.repeat(ratio[:, None], 3, axis=1))
        if own is None:
            break
        guide = _with_shade(patches, seen, wanted, lab, own, settings, guide)
        shades.append(own)
    for shade in shades:
        fit = _with_shade(patches, seen, wanted, lab, shade, settings, guide)
        if fit.left_out < settings.simpler_gain * best.left_out:
            best = fit
    gain = gains_at(best.shade, patches, settings)
    return best, colours_off(apply_fit(best, seen).astype(np.float64) * gain, lab)


def gains_at(shade: Shade, patches: Sequence[PatchSample], settings: BalanceSettings) -> Floats:
    """Give the (n, 3) factors that even the light out at patches."""
    x, y = [p.x_px for p in patches], [p.y_px for p in patches]
    return shade.gain(x, y, settings.shade_limit, settings.shade_hue_limit).astype(np.float64)


def _with_shade(
    patches: tuple[PatchSample, ...],
    seen: Floats,
    wanted: Floats,
    lab: Floats,
    shade: Shade,
    settings: BalanceSettings,
    near: Fit,
) -> Fit:
    gain = gains_at(shade, patches, settings)
    return replace(_choose(_search(seen, wanted, lab, gain, settings, near), settings), shade=shade)


def _trust(lightness: float, settings: BalanceSettings) -> float:
    return next((weight for bound, weight in settings.grey_weights if lightness < bound), 0.0)


def _pair_trust(greys: list[PatchSample], gain: Floats, settings: BalanceSettings) -> Floats:
    """Take trust from greys whose twin in the other ramp disagrees, shading undone."""
    bright = (np.array([p.linear_rgb for p in greys]) * gain) @ _LUMINANCE
    trust = np.array([_trust(p.lab[0], settings) for p in greys])
    for i, p in enumerate(greys):
        twins = [j for j, q in enumerate(greys) if j != i and q.lab[0] == p.lab[0]]
        ratio = max(
            (max(bright[i], bright[j]) / max(min(bright[i], bright[j]), 1e-6) for j in twins), default=1.0
        )
        if ratio > settings.grey_pair_ratio:
            trust[i] *= 0.2
    return trust


def fit_greys(
    greys: tuple[PatchSample, ...], papers: tuple[PatchSample, ...], settings: BalanceSettings
) -> Fit | None:
    """Fit white balance, exposure and tone to a printed grey ramp.

    Parameters
    ----------
    greys : the ramp, nominal colours; clipped ones are left out
    papers : bare paper, one material: shows how the light falls across the card
    settings : weights and limits

    Returns
    -------
    None when fewer than `least_greys` can be used.
    """
    kept = [p for p in greys if not p.clipped]
    if len({p.lab[0] for p in kept}) < settings.least_greys:
        return None
    shade = paper_shade(papers, settings) or Shade()
    gain = gains_at(shade, kept, settings)
    seen = np.array([p.linear_rgb for p in kept])
    asked = lab_to_linear(np.array([p.lab for p in kept])).astype(np.float64)
    wanted = settings.print_reflectance * (settings.print_floor + (1.0 - settings.print_floor) * asked)
    trust = _pair_trust(kept, gain, settings)
    return fit_gains(seen, wanted, gain, trust, shade, settings.tone_pull, settings)


def fit_gains(
    seen: Floats,
    wanted: Floats,
    gain: Floats,
    trust: Floats,
    shade: Shade,
    tone_pull: float,
    settings: BalanceSettings,
) -> Fit:
    """Fit one gain a channel and a tone curve to near-neutral patches, outliers held down.

    Parameters
    ----------
    seen, wanted : (n, 3) linear light in the photo, and as the patches are
    gain : (n, 3) what evens the light out at each
    trust : (n,) weight of each
    shade : where `gain` is from
    tone_pull : price of an unusual tone curve, see `BalanceSettings.tone_pull`
    """
    lab = linear_to_lab(wanted).astype(np.float64)
    tones = list(product(settings.tone_powers, settings.tone_contrasts))
    light = np.stack([undo_tone(seen, g, k) for g, k in tones]).astype(np.float64) * gain
    light = np.maximum(light, 1e-6)
    ratio = np.log(np.maximum(wanted, 1e-6) / light)
    weight = np.repeat(trust[None, :, None], len(tones), axis=0)
    gains = np.zeros((len(tones), 1, 3))
    for _ in range(8):
        gains = (ratio * weight).sum(axis=1, keepdims=True) / weight.sum(axis=1, keepdims=True)
        off = np.abs(ratio - gains).max(axis=2, keepdims=True)
        weight = trust[None, :, None] / (1.0 + (off / 0.08) ** 2)
    left = colours_off(light * np.exp(gains), lab)
    share = trust / trust.sum()
    score = np.minimum(left, settings.odd_delta_e_00) @ share
    usual = settings.tone_expected_contrast
    price = np.array([2.0 * abs(np.log(g)) + abs(k - usual) for g, k in tones]) * tone_pull
    best = int(np.argmin(score + price))
    power, contrast = tones[best]
    matrix = np.diag(np.exp(gains[best, 0]))
    residual = float(left[best] @ share)
    return Fit("white balance", power, contrast, matrix, shade, residual, residual, len(seen))
