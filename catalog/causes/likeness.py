"""A second voice: a classifier fitted on the studio's own pieces whose cause a person confirmed.

It hears only numbers that the catalogue has of every piece (the reading, the coat, the heat), nothing of
the rules. It is a logistic regression with its probabilities calibrated by cross-validation (Platt 1999, as
in scikit-learn's `CalibratedClassifierCV`), and it keeps silent under `FEWEST_PIECES` confirmed pieces of a
fault or `FEWEST_EACH` of a cause: with fewer, its folds would hold one piece of a cause.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from catalog.records import FactValue

__all__ = ["FEATURES", "FEWEST_EACH", "FEWEST_PIECES", "Likeness", "likeness"]

FEWEST_PIECES = 40
"""Confirmed pieces of one fault before the classifier speaks (our choice: four folds of ten)."""

FEWEST_EACH = 8
"""Confirmed pieces of a cause before it may be named (our choice: two in each of four folds)."""

DISAGREES_FROM = 0.6
"""Probability from which another first cause than the rules' is said to be a disagreement (our choice)."""

FEATURES = (
    "image.density_per_cm2",
    "image.defect_diam_mm",
    "image.defect_diam_p95_mm",
    "image.clustering_r",
    "image.density_edge_vs_centre",
    "image.density_thick_vs_thin",
    "application.raw_thickness_mm",
    "application.coats",
    "application.layers",
    "body.absorption_pct",
    "firing.cone_over_target",
    "firing.cone_over_range",
    "firing.cone_over_body",
    "firing.hold_peak_min",
    "firing.final_ramp_C_h",
    "firing.cool_C_h_to_1000",
    "recipe.si_al",
    "recipe.b2o3_umf",
    "recipe.zno_umf",
    "recipe.cte_minus_body",
)
"""Facts of type number that the catalogue itself measures, computes or records."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """What the classifier says of one piece.

    Attributes
    ----------
    pieces : confirmed pieces of this fault that it knows
    shares : probability by pair id, adding to 1; empty while it keeps silent
    text : what it says, or why it says nothing
    disagrees : it puts another cause first than the rules, with `DISAGREES_FROM` or more
    """

    pieces: int
    shares: Mapping[str, float]
    text: str
    disagrees: bool = False


def likeness(
    cases: Sequence[tuple[str, Mapping[str, FactValue]]],
    facts: Mapping[str, FactValue],
    first_by_rules: str,
    titles: Mapping[str, str],
) -> Likeness:
    """Say which confirmed pieces of this studio a piece is most like.

    Parameters
    ----------
    cases : sequence of (pair id, facts)
        Confirmed causes of one fault with the facts known then.
    facts : mapping
        Of the piece asked about.
    first_by_rules : str
        Pair id that the rules put first.
    titles : mapping of str to str
        Causes' titles by pair id.
    """
    counts = Counter(pair for pair, _ in cases)
    named = {pair for pair, count in counts.items() if count >= FEWEST_EACH}
    used = [(pair, given) for pair, given in cases if pair in named]
    if len(used) < FEWEST_PIECES or len(named) < 2:
        text = (
            f"Your own pieces cannot be asked yet: {len(cases)} have a confirmed cause of this fault. From "
            f"{FEWEST_PIECES} on, {FEWEST_EACH} or more of each of two causes, they speak beside the rules."
        )
        return Likeness(len(cases), {}, text)
    shares = _shares(used, facts)
    first = max(shares, key=lambda pair: shares[pair])
    disagrees = first != first_by_rules and shares[first] >= DISAGREES_FROM
    named_so = titles.get(first, first)
    said = (
        f"By its figures alone this piece is most like those whose cause here was “{named_so}” "
        f"({counts[first]} of {len(used)} confirmed pieces; {100 * shares[first]:.0f} of 100)."
    )
    if disagrees:
        said += " The rules put another cause first: look again before you act on either."
    elif first == first_by_rules:
        said += " The rules say the same."
    return Likeness(len(cases), shares, said, disagrees)


def _shares(
    cases: Sequence[tuple[str, Mapping[str, FactValue]]], facts: Mapping[str, FactValue]
) -> dict[str, float]:
    import numpy as np
    from sklearn.calibration import CalibratedClassifierCV
    from sklearn.impute import SimpleImputer
    from sklearn.linear_model import LogisticRegression
    from sklearn.model_selection import StratifiedKFold
    from sklearn.pipeline import make_pipeline
    from sklearn.preprocessing import StandardScaler

    known = [key for key in FEATURES if any(key in given for _, given in cases)]
    if not known:
        counts = Counter(pair for pair, _ in cases)
        return {pair: count / len(cases) for pair, count in counts.items()}

    def row(given: Mapping[str, FactValue]) -> list[float]:
        return [float(given[key]) if key in given else np.nan for key in known]

    model = CalibratedClassifierCV(
        make_pipeline(
            SimpleImputer(strategy="median", add_indicator=True),
            StandardScaler(),
            LogisticRegression(C=0.3, max_iter=400),
        ),
        method="sigmoid",
        cv=StratifiedKFold(4, shuffle=True, random_state=0),
    )
    model.fit(np.array([row(given) for _, given in cases]), [pair for pair, _ in cases])
    chances = model.predict_proba(np.array([row(facts)]))[0]
    return {str(pair): float(chance) for pair, chance in zip(model.classes_, chances, strict=True)}
