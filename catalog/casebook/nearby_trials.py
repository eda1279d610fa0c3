"""Trials fired about a sister piece: heard too, but softly.

A trial says something of the pieces it was made for: the same glaze on the same clay, or the same glaze out
of the same load. What is true of the one need not be true of the other (another coat, another shelf), so its
word counts as a fact that is only half sure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from catalog.casebook.records import KeptTrial
from catalog.causes.trial_result import TrialResult
from catalog.records import Piece
from catalog.ware.sisters import sisters

__all__ = ["SISTER_CERTAINTY", "sister_results"]

SISTER_CERTAINTY = 0.5
"""How sure it is that a sister's trial speaks of this piece too (judgement, no source)."""


def sister_results(
    piece: Piece, fault: str, trials: Iterable[tuple[KeptTrial, Piece]]
) -> tuple[TrialResult, ...]:
    """Give what trials about sister pieces say of the same fault.

    Parameters
    ----------
    piece : Piece
        The one that is asked about.
    fault : str
        The fault's own name.
    trials : iterable of (KeptTrial, Piece)
        Trials that stand, each with the piece it is about.

    Returns
    -------
    tuple of TrialResult
        With `SISTER_CERTAINTY`; those that are unclear or wait for photos are left out.
    """
    found = []
    for trial, about in trials:
        if trial.fault != fault or about.id == piece.id or trial.result is None:
            continue
        (sister, *_) = sisters(piece, [about]) or (None,)
        if sister is None or "glaze" not in sister.shares:
            continue
        sentence = f"{trial.result.sentence} (made for {sister.text()}, so it counts by half)"
        found.append(replace(trial.result, sentence=sentence, certainty=SISTER_CERTAINTY))
    return tuple(found)
