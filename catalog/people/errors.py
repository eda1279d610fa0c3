"""What can go wrong between people and the catalogue."""

from __future__ import annotations

from catalog.errors import CatalogError

__all__ = [
    "CannotTakeBackError",
    "LastKeeperError",
    "NotAllowedError",
    "PersonNotFoundError",
    "SignedOutError",
    "TooManyTriesError",
    "WrongSignInError",
]


class PersonNotFoundError(CatalogError):
    """Nobody of this name is among the people, or they left."""

    def __init__(self, name: str, known: tuple[str, ...] = ()) -> None:
        super().__init__(f"nobody named {name!r}; known: {', '.join(known) or 'nobody yet'}")
        self.name = name
        self.known = known


class LastKeeperError(CatalogError):
    """The step would leave the catalogue without a keeper, or begin it with somebody else."""

    def __init__(self, name: str) -> None:
        super().__init__(f"without {name!r} as a keeper there is none")
        self.name = name


class WrongSignInError(CatalogError):
    """Name and passphrase do not belong together. Which of the two is wrong is not said."""

    def __init__(self) -> None:
        super().__init__("name and passphrase do not belong together")


class TooManyTriesError(CatalogError):
    """Sign-in was tried too often: `wait_s` seconds to wait, None until the passphrase is set anew."""

    def __init__(self, wait_s: float | None) -> None:
        super().__init__("too many tries" if wait_s is None else f"too many tries; {wait_s:.0f} s to wait")
        self.wait_s = wait_s


class SignedOutError(CatalogError):
    """Nobody is signed in (any more), and this catalogue wants to know who works with it."""

    def __init__(self) -> None:
        super().__init__("nobody is signed in")


class NotAllowedError(CatalogError):
    """Somebody may not make this change.

    Attributes
    ----------
    name, role : who tried
    table, label : which table, and what a person calls the row or what it is part of (may be empty)
    owner : whose it is, None where it is nobody's own
    """

    def __init__(self, name: str, role: str, table: str, label: str, owner: str | None = None) -> None:
        whose = "" if owner is None else f", which is {owner}'s"
        super().__init__(f"{name} ({role}) may not change {table} {label}{whose}")
        self.name = name
        self.role = role
        self.table = table
        self.label = label
        self.owner = owner


class CannotTakeBackError(CatalogError):
    """A change cannot be taken back.

    Attributes
    ----------
    number : of the change
    reason : "unknown", "back already", "too much", "people", "not kept", "newer" or "in use"
    by : number of the change that stands in the way, None where none does
    label : what it is about, may be empty
    """

    def __init__(self, number: int, reason: str, by: int | None = None, label: str = "") -> None:
        super().__init__(f"change {number} cannot be taken back: {reason} {by or ''} {label}".rstrip())
        self.number = number
        self.reason = reason
        self.by = by
        self.label = label
