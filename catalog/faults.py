"""Which faults stand on a piece: the readings' calls, less what is intended, under a person's word."""

from __future__ import annotations

from collections.abc import Iterable

from catalog.records import EffectiveFault, Judgement, KeptReading, Piece

__all__ = ["FAULT_PROBABILITY_MIN", "effective_faults", "fault_word"]

FAULT_PROBABILITY_MIN = 0.5
"""A reading's call counts from this probability on: more likely there than not. Between 0 and 1."""

_WORDS = {
    "pinhole": "pinholed",
    "pinholes": "pinholed",
    "blister": "blistered",
    "blisters": "blistered",
    "crater": "cratered",
    "craters": "cratered",
    "speck": "specked",
    "specks": "specked",
    "crazing": "crazed",
    "craze": "crazed",
    "crawling": "crawled",
    "crawl": "crawled",
}


def fault_word(name: str) -> str:
    """Give the one word under which a fault is kept: a blister and blisters make a piece "blistered"."""
    word = " ".join(name.split()).lower()
    return _WORDS.get(word, word)


def effective_faults(piece: Piece) -> tuple[EffectiveFault, ...]:
    """Tell the faults that stand on a piece, a person's first, then the likeliest.

    Each photo counts with its newest method; across photos the likeliest call of a fault counts, since a
    fault shown by one side is there. A person's last word on a fault outranks every reading. An effect
    that the recipe means (`Piece.intended`) or a person calls "intended" is no fault; "present" from a
    person stands even then.

    Returns
    -------
    tuple of EffectiveFault, `by` "person" (probability 1) or "reading" (at least `FAULT_PROBABILITY_MIN`)
    """
    return stand(piece.readings, piece.judgements, piece.intended)


def stand(
    readings: Iterable[KeptReading], judgements: Iterable[Judgement], intended: Iterable[str]
) -> tuple[EffectiveFault, ...]:
    """Do the work of `effective_faults` on its parts."""
    called: dict[str, float] = {}
    for reading in readings:
        if reading.superseded:
            continue
        for call in reading.tile.faults:
            word = fault_word(call.fault)
            called[word] = max(called.get(word, 0.0), call.probability)
    wanted = {fault_word(effect) for effect in intended}
    said: dict[str, Judgement] = {}
    for judgement in sorted((j for j in judgements if j.about == "fault"), key=lambda j: j.id):
        said[fault_word(judgement.subject)] = judgement
    faults = [
        EffectiveFault(word, 1.0, "person", judgement.note)
        for word, judgement in said.items()
        if judgement.verdict == "present"
    ]
    faults += [
        EffectiveFault(word, probability, "reading")
        for word, probability in called.items()
        if probability >= FAULT_PROBABILITY_MIN and word not in wanted and word not in said
    ]
    return tuple(sorted(faults, key=lambda f: (f.by != "person", -f.probability, f.fault)))
