"""What can go wrong when causes are asked for: one class for each thing a caller can act on."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from catalog.errors import CatalogError

__all__ = [
    "CausesError",
    "FactValueError",
    "FactsFileError",
    "KnowledgeError",
    "NoFaultError",
    "UnknownFactError",
    "UnknownFaultError",
    "nearest",
]


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Give the known word most like `word`, or None when none is near (difflib ratio below 0.5).

    A word that equals the last part of a dotted name counts as that name.
    """
    names = list(known)
    folded = word.strip().lower().replace("-", "_").replace(" ", "_")
    tails = [name for name in names if name.lower().split(".")[-1] == folded.split(".")[-1]]
    if tails:
        return max(tails, key=lambda name: difflib.SequenceMatcher(None, folded, name.lower()).ratio())
    lowered = {name.lower(): name for name in names}
    close = difflib.get_close_matches(folded, lowered, n=1, cutoff=0.5)
    return lowered[close[0]] if close else None


class CausesError(CatalogError):
    """Base of all errors about faults, facts and causes."""


class KnowledgeError(CausesError):
    """A table of causes shipped with the package breaks its own rules (a programming error)."""


class UnknownFactError(CausesError):
    """A key that is not in the vocabulary of facts.

    Parameters
    ----------
    key : str
        The key as given.
    nearest_key : str or None
        The known key most like it.
    """

    def __init__(self, key: str, nearest_key: str | None) -> None:
        hint = f"; the nearest known one is {nearest_key}" if nearest_key else ""
        super().__init__(f"{key!r} is not a known fact{hint}")
        self.key = key
        self.nearest_key = nearest_key


class FactValueError(CausesError):
    """A known fact with a value of the wrong kind.

    Parameters
    ----------
    key : str
        The fact.
    value : object
        What was given.
    wanted : str
        What is wanted, with the unit.
    """

    def __init__(self, key: str, value: object, wanted: str) -> None:
        super().__init__(f"{key} was given as {value!r}; wanted: {wanted}")
        self.key = key
        self.value = value
        self.wanted = wanted


class UnknownFaultError(CausesError):
    """A word that names no fault the causes are known for."""

    def __init__(self, fault: str, nearest_fault: str | None) -> None:
        hint = f"; the nearest known one is {nearest_fault}" if nearest_fault else ""
        super().__init__(f"{fault!r} is not a known fault{hint}")
        self.fault = fault
        self.nearest_fault = nearest_fault


class NoFaultError(CausesError):
    """A piece on which no fault stands, and none was named."""

    def __init__(self, code: str) -> None:
        super().__init__(f"no fault is recorded or seen on {code}; name one to ask why it might come")
        self.code = code


class OutcomeNotFoundError(CausesError):
    """No outcome has this number, or it was undone.

    Parameters
    ----------
    number : str
        As it was asked for.
    """

    def __init__(self, number: str) -> None:
        super().__init__(f"no outcome {number} is kept")
        self.number = number


class FactsFileError(CausesError):
    """A facts file that cannot be used.

    Parameters
    ----------
    name : str
        File name.
    reason : str
        What was found, what is wanted.
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(f"{name}: {reason}")
        self.name = name
        self.reason = reason
