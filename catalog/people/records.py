"""Who somebody is to the catalogue. Frozen; rows stay in `catalog.people.tables`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

__all__ = ["KEEPER", "MEMBER", "READER", "ROLES", "Person"]

KEEPER, MEMBER, READER = "keeper", "member", "reader"

ROLES = (KEEPER, MEMBER, READER)
"""A keeper may do everything; a member files new things and changes their own; a reader changes nothing."""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who works with this catalogue.

    Attributes
    ----------
    id, uid : the number here, and the identity that is never given again
    role : one of `ROLES`
    email : the address by which a sign-in service names them, None where they have none
    has_passphrase : whether they can sign in by passphrase
    created_at, left_at : UTC; somebody who left keeps their name on what they did and can't sign in
    """

    id: int
    uid: str
    name: str
    role: str
    email: str | None
    has_passphrase: bool
    created_at: datetime
    left_at: datetime | None = None

    @property
    def is_keeper(self) -> bool:
        """Tell whether this person may do everything."""
        return self.role == KEEPER

    @property
    def may_write(self) -> bool:
        """Tell whether this person may file new things."""
        return self.role in (KEEPER, MEMBER)
