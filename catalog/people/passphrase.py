"""Passphrases: what is asked of one, and its argon2 hash. The passphrase itself is kept and shown nowhere."""

from __future__ import annotations

import secrets
import unicodedata
from functools import cached_property
from typing import TYPE_CHECKING

from catalog.errors import InvalidRecordError

if TYPE_CHECKING:
    from argon2 import PasswordHasher

__all__ = ["LONGEST", "SHORTEST", "PassphraseHasher", "checked_passphrase"]

SHORTEST = 15
"""Characters. NIST SP 800-63B-4, 3.1.1.2: at least 15 where nothing but the password is asked for (from
memory; the revision before asked for 8)."""

LONGEST = 256
"""Characters. The same section asks that at least 64 be taken; a limit keeps hashing from being abused."""

_DIFFERENT = 6
_BESIDE_KNOWN_WORDS = 8
"""Our own judgement: characters that differ, and that are left without the person's name and the program's.
The same section forbids rules such as "one digit", and asks that such expected words be refused."""


def checked_passphrase(passphrase: str, name: str) -> str:
    """Give the passphrase in the one form that is hashed (Unicode NFKC).

    Raises
    ------
    InvalidRecordError : too short, too long, or what anybody would try. It never holds the passphrase.
    """
    text = unicodedata.normalize("NFKC", passphrase)
    if len(text) < SHORTEST:
        raise InvalidRecordError(
            "passphrase", _count(text), f"at least {SHORTEST}, such as four or five words"
        )
    if len(text) > LONGEST:
        raise InvalidRecordError("passphrase", _count(text), f"at most {LONGEST} characters")
    left = text.casefold().replace(name.casefold(), "").replace("glostbook", "")
    if len(set(text)) < _DIFFERENT or len(left) < _BESIDE_KNOWN_WORDS:
        raise InvalidRecordError("passphrase", "one that is easily guessed", "words that are not the name")
    return text


def _count(text: str) -> str:
    return f"{len(text)} characters"


class PassphraseHasher:
    """Argon2id with the library's own profile: 64 MiB, 3 passes, 4 lanes.

    That is the second choice of RFC 9106, section 4. The OWASP password storage cheat sheet asks for at least
    19 MiB, 2 passes, 1 lane (both from memory).
    """

    @cached_property
    def _hasher(self) -> PasswordHasher:
        from argon2 import PasswordHasher  # 70 ms to import, and few commands need it

        return PasswordHasher()

    def make(self, passphrase: str) -> str:
        """Hash a checked passphrase with a salt of its own."""
        return self._hasher.hash(passphrase)

    def fits(self, kept: str | None, passphrase: str) -> bool:
        """Tell whether a passphrase is the one hashed. It takes as long where nothing is kept."""
        from argon2.exceptions import InvalidHashError, VerificationError

        text = unicodedata.normalize("NFKC", passphrase[: 4 * LONGEST])
        nobody = self._of_nobody  # made before any is compared, so that the first try takes no longer either
        try:
            right = self._hasher.verify(kept or nobody, text)
        except (VerificationError, InvalidHashError):
            return False
        return right and kept is not None

    def is_old(self, kept: str) -> bool:
        """Tell whether a hash was made with weaker settings than today's."""
        return self._hasher.check_needs_rehash(kept)

    @cached_property
    def _of_nobody(self) -> str:
        """Give a hash that no passphrase fits: a name nobody has takes as long as a wrong passphrase."""
        return self.make(secrets.token_urlsafe(32))
