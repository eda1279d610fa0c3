"""What can be wrong with a package."""

from __future__ import annotations

from catalog.errors import CatalogError

__all__ = ["NewerPackageError", "PackageError"]


class PackageError(CatalogError):
    """A package cannot be taken: which file or row in it (`entry`, may be empty), and why."""

    def __init__(self, where: str, entry: str, reason: str) -> None:
        super().__init__(f"{where}: {entry + ': ' if entry else ''}{reason}")
        self.where = where
        self.entry = entry
        self.reason = reason


class NewerPackageError(CatalogError):
    """A later version of this program wrote the package."""

    def __init__(self, where: str, found: str, known: str) -> None:
        super().__init__(f"{where} has format {found}; this version knows formats up to {known}")
        self.where = where
        self.found = found
        self.known = known
