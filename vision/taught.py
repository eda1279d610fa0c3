"""The true colours of the studio's own printed card: taught once by a chart, used from then on."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from vision.balance_fit import Fit, Shade, apply_fit, fit_chart, fit_gains, gains_at, paper_shade
from vision.card import FoundCard, find_card
from vision.card_patches import PatchSample
from vision.chart import FoundChart, find_chart
from vision.colour import lab_to_linear, linear_to_lab
from vision.errors import CardNotTaughtError
from vision.laid import board_of
from vision.photo import Photo
from vision.settings import BalanceSettings, Settings
from vision.surround import measure_surround, surround_gain
from vision.taught_card import TaughtCard
from vision.tiles import find_pieces

__all__ = ["fit_taught", "teach_card"]

Floats = NDArray[np.float64]
Triple = tuple[float, float, float]
_DEFAULT = Settings()


def teach_card(photo: Photo, on: date, settings: Settings = _DEFAULT) -> TaughtCard:
    """Learn a card's true colours from a photo that shows it beside a 24-patch chart.

    Parameters
    ----------
    photo : card and chart flat in one light, nothing lying on either
    on : the day to write down
    settings : `settings.balance`

    Raises
    ------
    CardNotTaughtError : no whole card, no chart, a chart that is not trusted, burnt-out
        patches, or paper that comes out too dark or too light for paper.

    Notes
    -----
    The chart's correction is applied to the card's patches. Light that differs between the two is taken off
    by the card's own paper and by the table around both (`vision.surround`); what remains of it is a wrong
    lightness of the whole card, the same for every patch.
    """
    card = find_card(photo.pixels, settings)
    if card is None:
        raise CardNotTaughtError("no card was found")
    if len(card.markers_seen) < 4:
        raise CardNotTaughtError("not all four corner squares of the card are in view")
    chart = find_chart(photo.pixels, settings, card)
    if chart is None:
        raise CardNotTaughtError("no 24-patch colour chart was found")
    fit = fit_chart(chart.patches, None, settings.balance)
    if fit is None or fit.left_out > settings.balance.teach_trust_delta_e_00:
        raise CardNotTaughtError("the chart's patches do not agree with each other: glare, shadow or blur")
    shade = paper_shade(card.papers, settings.balance) or Shade()
    light = _light_between(photo, card, chart, shade, settings)
    greys: dict[float, list[Floats]] = {}
    for patch in card.greys:
        if not patch.clipped:
            greys.setdefault(patch.lab[0], []).append(_true(fit, shade, patch, light, settings.balance))
    papers = [_true(fit, shade, p, light, settings.balance) for p in card.papers if not p.clipped]
    if len(greys) < settings.balance.teach_least_greys or len(papers) < settings.balance.least_papers:
        raise CardNotTaughtError("too many of the card's patches are burnt out, lost in black or out of view")
    white = np.median(papers, axis=0)
    came_out = _lab(white)[0]
    darkest, lightest = settings.balance.teach_paper_lightness
    if not darkest <= came_out <= lightest:
        raise CardNotTaughtError(
            f"the card's paper comes out at L* {came_out:.0f}, which no office paper has: the light on the "
            "card is not that on the chart"
        )
    level = _paper_level(came_out, light, settings.balance)
    return TaughtCard(
        layout=card.layout.name,
        greys={asked: _lab(np.mean(seen, axis=0) * level) for asked, seen in greys.items()},
        paper=_lab(white * level),
        on=on,
        residual_delta_e_00=fit.residual,
    )


def _lab(linear: Floats) -> Triple:
    light, a_star, b_star = (round(float(v), 3) for v in linear_to_lab(linear))
    return (light, a_star, b_star)


def _paper_level(came_out: float, light: Floats, settings: BalanceSettings) -> float:
    """Give the factor that brings the paper to the lightness it most likely has.

    Notes
    -----
    The chart tells hue and steps; how light the whole card is, it tells only as well as the light between
    the two is known. That doubt grows with the light that had to be taken off; office paper hardly varies.
    The mean of both, each weighted by its inverse variance.
    """
    usual, spread = settings.teach_usual_paper
    steady, share = settings.teach_light_doubt
    doubt = steady + share * abs(float(np.log(light).mean()))
    weight = spread**2 / (spread**2 + doubt**2)
    wanted = usual + weight * (came_out - usual)
    seen = lab_to_linear(np.array([[came_out, 0.0, 0.0], [wanted, 0.0, 0.0]]))[:, 1]
    return float(seen[1] / seen[0])


def _true(fit: Fit, shade: Shade, patch: PatchSample, light: Floats, settings: BalanceSettings) -> Floats:
    """Give a patch's linear colour as the chart's correction makes it, in the light of the chart."""
    gain = gains_at(shade, [patch], settings)[0]
    seen = apply_fit(fit, np.array([patch.linear_rgb]))[0].astype(np.float64)
    return np.asarray(np.clip(seen * gain * light, 1e-4, 1.2), dtype=np.float64)


def _light_between(
    photo: Photo, card: FoundCard, chart: FoundChart, shade: Shade, settings: Settings
) -> Floats:
    """Give the (3,) factor that brings what lies in the card's light into the chart's."""
    middle = chart.corners_px.mean(axis=0)
    laid = [card.corners_px, board_of(chart, settings)]
    pieces = find_pieces(photo.pixels, laid, flat=True, subject=None, settings=settings.tiles)
    taken = [piece.outline_px for piece in pieces]
    here, there = measure_surround(photo.pixels, laid, taken, settings.balance)
    by_table, weight = surround_gain(here, there, settings.balance)
    limits = (settings.balance.shade_limit, settings.balance.shade_hue_limit)
    slope = -np.log(shade.gain(middle[0], middle[1], *limits)).astype(np.float64)
    bright, dark = settings.balance.shade_reach
    by_slope = slope * (bright if slope.mean() > 0 else dark)
    return np.asarray(np.exp(weight * by_table + (1 - weight) * by_slope), dtype=np.float64)


def fit_taught(card: FoundCard, taught: TaughtCard, settings: BalanceSettings) -> Fit | None:
    """Fit white balance, exposure and tone to a card whose true colours are known.

    Parameters
    ----------
    card : as the photo shows it
    taught : the same card's true colours
    settings : `taught_tone_pull` and weights

    Returns
    -------
    None when fewer than `least_greys` greys can be used, or the card is of another size.
    """
    if taught.layout != card.layout.name:
        return None
    greys = [p for p in card.greys if not p.clipped and p.lab[0] in taught.greys]
    papers = [p for p in card.papers if not p.clipped]
    if len({p.lab[0] for p in greys}) < settings.least_greys:
        return None
    shade = paper_shade(card.papers, settings) or Shade()
    patches = [*greys, *papers]
    lab = np.array([taught.greys[p.lab[0]] for p in greys] + [taught.paper for _ in papers])
    trust = np.concatenate([np.ones(len(greys)), np.full(len(papers), 2.0 / max(1, len(papers)))])
    trust[: len(greys)][lab[: len(greys), 0] < settings.taught_dark] = settings.taught_dark_trust
    return fit_gains(
        np.array([p.linear_rgb for p in patches]),
        lab_to_linear(lab).astype(np.float64),
        gains_at(shade, patches, settings),
        trust,
        shade,
        settings.taught_tone_pull,
        settings,
    )
