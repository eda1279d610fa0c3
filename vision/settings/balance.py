"""Thresholds of correcting colour."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["BalanceSettings"]


@dataclass(frozen=True, slots=True)
class BalanceSettings:
    """Correcting colour from the card or chart."""

    tone_powers: tuple[float, ...] = (0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6)
    """Powers of light tried when a phone's tone curve is undone; 1 is a plain sRGB picture."""
    tone_contrasts: tuple[float, ...] = (-0.4, -0.2, 0.0, 0.2, 0.4, 0.6, 0.8)
    """Strengths of an S-shaped tone curve tried (share of a smoothstep mixed in); 0 is none. On the open
    phone photos 0.4 to 0.8 leaves least."""
    ridge: float = 1e-3
    """Pull of a colour matrix towards plain white balance, share of its mean energy. Lowers the
    leave-one-patch-out error of root-polynomials on the open phone photos by 0.1."""
    simpler_gain: float = 0.95
    """A richer model must bring the leave-one-patch-out error below this share of the simpler one's."""
    least_patches: int = 12
    """Fewest usable chart patches for a fit: half the chart."""
    odd_delta_e_00: float = 10.0
    """A chart patch missed by more than this, and by `odd_ratio` times the median, is left out."""
    odd_ratio: float = 3.5
    """See `odd_delta_e_00`."""
    most_odd: int = 3
    """Most chart patches left out as odd."""
    chart_trust_delta_e_00: float = 6.0
    """Leave-one-patch-out error above which a chart is not trusted. Open phone photos give 0.9 to 4.9."""
    shade_limit: float = 1.5
    """Largest factor by which shading is evened out; beyond the patches a slope is only a guess."""
    shade_hue_limit: float = 1.15
    """The same for one channel against the three's mean: a window on one side and a lamp on the other."""
    shade_reach: tuple[float, float] = (0.75, 0.22)
    """Share of the card's slope believed beyond the card, towards its bright and its dark side. Light falls
    ever more slowly away from a lamp. Chosen on 53 tiles of the training renders: mean delta E00 (each capped
    at 12) 4.95 without, 4.64 with the full slope, 4.32 with shares of 0.5 and 0.15; raised by half when 123
    tiles, the table's light used as well, had a median of 3.55 so and 3.37 then. A chart's own slope, over a
    shorter base, made things worse there (3.6 without, 5.4 with) and is used on the chart alone."""
    uneven_ratio: float = 1.2
    """Light that changes by more than this factor across the card or chart is called uneven."""
    least_papers: int = 6
    """Fewest places of bare paper from which shading across the card is told."""
    least_greys: int = 4
    """Fewest usable grey patches of the card for a fit."""
    grey_weights: tuple[tuple[float, float], ...] = ((20.0, 0.15), (30.0, 0.4), (90.0, 1.0), (101.0, 0.5))
    """Trust in a printed grey by its nominal L*, up to each bound: mid greys print best, black is a matter
    of ink and paper (15 to 25 instead of 17), the lightest is nearly paper."""
    grey_pair_ratio: float = 1.12
    """The two ramps' patches of one grey may differ by this factor, shading undone, before both lose trust:
    glare or something lying on one of them."""
    print_reflectance: float = 0.97
    """Light a printed grey gives back, as a share of what the file asks. The file asks 0.90 of bare paper;
    office paper gives 0.80 to 0.92 (common practice, no source), and printers scale greys to the paper."""
    print_floor: float = 0.01
    """Light that a print's darkest ink gives back beyond what is asked, 0..1: black is at L* 17 to 25."""
    tone_expected_contrast: float = 0.3
    """S-shaped contrast expected of a phone before the ramp is looked at; 0 to 0.6 is usual."""
    tone_pull: float = 2.0
    """Price of a tone curve other than the expected one, fitted to printed greys: delta E00 per unit of
    contrast, and twice that per unit of ln power. A printer's curve must not pass for the phone's."""
    teach_trust_delta_e_00: float = 4.0
    """Leave-one-patch-out error above which a chart may teach no card; stricter than for one photo's colours,
    since all later ones rest on it."""
    teach_least_greys: int = 6
    """Fewest greys of the ramp's eight for a card to be taught."""
    teach_paper_lightness: tuple[float, float] = (88.0, 98.0)
    """L* of office paper, darkest and lightest (common practice, no source: reflectance 0.72 to 0.95). Beyond
    it the light on the card was not that on the chart."""
    teach_usual_paper: tuple[float, float] = (94.0, 1.7)
    """L* of office paper, mean and standard deviation: common practice, no source."""
    teach_light_doubt: tuple[float, float] = (1.0, 38.0)
    """Doubt of the paper's lightness as the chart gives it, L*: at equal light, and for each unit of the
    logarithm of light taken off. L* moves by 38 where the logarithm of light moves by 1, near white."""
    taught_tone_pull: float = 1.0
    """`tone_pull` where the card's true greys are known: the phone's curve then shows in them."""
    taught_dark: float = 28.0
    """L* under which a taught grey is trusted less: lens glare and noise lift it."""
    taught_dark_trust: float = 0.4
    """Trust in those, 1 for the others."""
    taught_old_days: int = 365
    """Age from which a taught card is called old, days: paper yellows, ink fades, clay rubs in. A prudent
    choice, no source."""
    taught_drift_delta_e_00: float = 1.5
    """Residual above the one at teaching from which a taught card is said to look different now."""
    surround_side_px: float = 320.0
    """Long side at which the table around things is looked at, pixels."""
    surround_gap_px: int = 3
    """Table nearer than this to anything lying on it is left out, those pixels: edges, contact shadows."""
    surround_band_px: int = 12
    """Width of the band of table looked at around a thing, those pixels: some 30 mm."""
    surround_least_px: int = 40
    """Fewer pixels of table than this tell nothing."""
    surround_floor: float = 0.003
    """Added to linear light before a ratio is taken: noise and lens glare."""
    surround_limit: float = 0.5
    """Largest factor believed, its natural logarithm (1.65 times)."""
    surround_spread: float = 0.3
    """Interquartile range of the table's own log luminance at which it is trusted half as much. Chosen on 99
    tiles of the training renders, share and spread together: the light still unexplained there (median
    absolute deviation of its logarithm) fell from 0.132 to 0.090 with a card, 0.137 to 0.065 with a chart."""
    surround_share: float = 0.8
    """Share of the ratio believed on an even table."""
