"""Fit on a clay as one plain sentence, from what each factor set says for itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalog.glaze.fit import Fit, Verdict

__all__ = ["FitSummary", "agreed_fit", "fit_summary"]

_SILENT: Verdict = "not computable"
_SAID: dict[str, str] = {
    "likely to craze": "is likely to craze",
    "fits": "seems to fit",
    "likely to shiver": "is likely to shiver",
}

_DOES: dict[str, str] = {"likely to craze": "craze", "fits": "fit", "likely to shiver": "shiver"}


@dataclass(frozen=True, slots=True)
class FitSummary:
    """What is said of a glaze on a clay.

    Attributes
    ----------
    verdict : str
        A verdict of `fit`, or "the sets disagree".
    sentence : str
    """

    verdict: str
    sentence: str


def agreed_fit(fits: Sequence[Fit]) -> Fit | None:
    """Give the first set's answer where all sets that speak say the same; None otherwise."""
    speaking = [each for each in fits if each.verdict != _SILENT]
    if not speaking or len({each.verdict for each in speaking}) > 1:
        return None
    return speaking[0]


def fit_summary(fits: Sequence[Fit], clay: str) -> FitSummary:
    """Give one sentence on a clay.

    Parameters
    ----------
    fits : sequence of Fit
        Each by one set (`fit.fits_on_body`, or `fit.fit_beside` by every set).
    clay : str
        Name of the clay.
    """
    speaking = [each for each in fits if each.verdict != _SILENT]
    if not speaking:
        why = "the doubt is wider than the margin between crazing and shivering"
        if fits and all(each.difference_per_k is None for each in fits):
            why = fits[0].reason.removeprefix("not computable: ")
        return FitSummary(_SILENT, f"Whether it fits {clay} is not computable: {why}.")
    verdicts = {each.verdict for each in speaking}
    if len(verdicts) > 1:
        told = "; ".join(f"{each.set_name} {_SAID[each.verdict]}" for each in speaking)
        return FitSummary(
            "the sets disagree",
            f"The published factor sets disagree on {clay} ({told}), so this decides nothing: test it.",
        )
    verdict = speaking[0].verdict
    also = sorted({word for each in speaking for word in each.may_also} - {verdict})
    words = f"On {clay} it {_SAID[verdict]}"
    if also:
        words += f", but within the doubt may {' or '.join(_DOES[word] for word in also)}"
    count = f"{len(speaking)} of {len(fits)} factor sets" if len(fits) > 1 else speaking[0].set_name
    rest = "" if len(speaking) == len(fits) else "; the others say nothing"
    return FitSummary(verdict, f"{words}, by {count}{rest}.")
