"""What can go wrong in the catalogue: one class for each thing a caller can act on, its facts as attributes.

The messages are plain; `app.words` turns each class into one sentence and one thing to do next.
"""

from __future__ import annotations

from pathlib import Path

__all__ = [
    "BackupDamagedError",
    "BackupNotFoundError",
    "BackupPlaceError",
    "BodyNotFoundError",
    "BucketNotFoundError",
    "CatalogError",
    "CatalogFullError",
    "CatalogLockedError",
    "CodeTakenError",
    "DamagedCatalogError",
    "DatabaseAddressError",
    "DatabaseElsewhereError",
    "InUseError",
    "InvalidRecordError",
    "JudgementNotFoundError",
    "LoadNotFoundError",
    "NameTakenError",
    "NetworkDriveError",
    "NewerCatalogError",
    "NotEmptyError",
    "NotFreshError",
    "NothingToUndoError",
    "PhotoDamagedError",
    "PhotoMismatchError",
    "PhotoMissingError",
    "PhotoStoreError",
    "PieceNotFoundError",
    "ReadOnlyCatalogError",
    "ReadingNotFoundError",
    "RecipeNotFoundError",
    "ScenarioError",
]


class CatalogError(Exception):
    """Base of all errors raised by `catalog`."""


class InvalidRecordError(CatalogError):
    """A value cannot be kept: which field, what was given, what is wanted."""

    def __init__(self, field: str, given: object, wanted: str) -> None:
        super().__init__(f"{field}: {given!r} given, {wanted} wanted")
        self.field = field
        self.given = given
        self.wanted = wanted


class PieceNotFoundError(CatalogError):
    """No piece has this code. `nearest` names the codes most like it; `deleted` says that it was removed."""

    def __init__(self, code: str, nearest: tuple[str, ...] = (), *, deleted: bool = False) -> None:
        hint = f"; nearest: {', '.join(nearest)}" if nearest else ""
        gone = " any more (it was removed and can be brought back)" if deleted else ""
        super().__init__(f"no piece {code!r}{gone}{hint}")
        self.code = code
        self.nearest = nearest
        self.deleted = deleted


class LoadNotFoundError(CatalogError):
    """No load has this number."""

    def __init__(self, load_id: int) -> None:
        super().__init__(f"no load with number {load_id}")
        self.load_id = load_id


class RecipeNotFoundError(CatalogError):
    """No recipe revision has this number."""

    def __init__(self, recipe_id: int) -> None:
        super().__init__(f"no recipe with number {recipe_id}")
        self.recipe_id = recipe_id


class BodyNotFoundError(CatalogError):
    """No clay body has this number."""

    def __init__(self, body_id: int) -> None:
        super().__init__(f"no body with number {body_id}")
        self.body_id = body_id


class JudgementNotFoundError(CatalogError):
    """No judgement has this number, or it was taken back already."""

    def __init__(self, judgement_id: int) -> None:
        super().__init__(f"no judgement with number {judgement_id}")
        self.judgement_id = judgement_id


class ReadingNotFoundError(CatalogError):
    """No reading has this number."""

    def __init__(self, reading_id: int) -> None:
        super().__init__(f"no reading with number {reading_id}")
        self.reading_id = reading_id


class NameTakenError(CatalogError):
    """Another body already has this name."""

    def __init__(self, what: str, name: str) -> None:
        super().__init__(f"a {what} named {name!r} is kept already")
        self.what = what
        self.name = name


class CodeTakenError(CatalogError):
    """A code belongs to another piece: `field` differs between the kept piece and what was given.

    `field` is "body", "glaze", "kind", "load" or "code" (a plain second use of the code).
    """

    def __init__(self, code: str, field: str, kept: str, given: str) -> None:
        super().__init__(f"{code} is kept already with {field} {kept!r}, {given!r} given")
        self.code = code
        self.field = field
        self.kept = kept
        self.given = given


class InUseError(CatalogError):
    """A record cannot go because pieces point at it."""

    def __init__(self, what: str, name: str, piece_count: int) -> None:
        super().__init__(f"{what} {name!r} is used by {piece_count} pieces")
        self.what = what
        self.name = name
        self.piece_count = piece_count


class PhotoMissingError(CatalogError):
    """The file of a kept photo or view is not where the catalogue keeps it."""

    def __init__(self, sha256: str, path: Path | None = None) -> None:
        super().__init__(f"photo {sha256[:12]} is not in the catalogue's folder")
        self.sha256 = sha256
        self.path = path


class PhotoDamagedError(CatalogError):
    """The file of a kept photo or view no longer has the bytes that were filed."""

    def __init__(self, sha256: str, path: Path) -> None:
        super().__init__(f"photo {sha256[:12]} has changed on disk since it was filed")
        self.sha256 = sha256
        self.path = path


class PhotoStoreError(CatalogError):
    """The store of GLOSTBOOK_PHOTOS_URL did not do what was asked; `where` has no user, password or key."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"the photo store {where}: {reason}")
        self.where = where
        self.reason = reason


class PhotoMismatchError(CatalogError):
    """The reading was made from another photo than the bytes given with it."""

    def __init__(self, photo: str, data_sha256: str, reading_sha256: str) -> None:
        super().__init__(f"the reading of {photo} belongs to another photo than the one given")
        self.photo = photo
        self.data_sha256 = data_sha256
        self.reading_sha256 = reading_sha256


class CatalogLockedError(CatalogError):
    """Another program held the catalogue for longer than the wait allowed."""

    def __init__(self, where: str, waited_s: float) -> None:
        super().__init__(f"{where} was busy for {waited_s:g} s")
        self.where = where
        self.waited_s = waited_s


class UnloadingNotFoundError(CatalogError):
    """No unloading, or no photo of one, has this number."""

    def __init__(self, number: int) -> None:
        super().__init__(f"no unloading has the number {number}")
        self.number = number


class BucketNotFoundError(CatalogError):
    """No bucket that stands has this code or glaze; `nearest` are codes like it."""

    def __init__(self, code: str, nearest: tuple[str, ...] = ()) -> None:
        super().__init__(f"no bucket is kept as {code}")
        self.code = code
        self.nearest = nearest


class NothingToUndoError(CatalogError):
    """Nothing of this kind ("glazing", "stage", "crack", "loss") stands that could be taken back."""

    def __init__(self, kind: str) -> None:
        super().__init__(f"no {kind} stands that could be taken back")
        self.kind = kind


class ReadOnlyCatalogError(CatalogError):
    """The catalogue's folder or file does not let itself be written."""

    def __init__(self, where: str, reason: str = "") -> None:
        super().__init__(f"{where} cannot be written" + (f": {reason}" if reason else ""))
        self.where = where
        self.reason = reason


class CatalogFullError(CatalogError):
    """The disk that holds the catalogue is full. Nothing of the last step was kept."""

    def __init__(self, where: str) -> None:
        super().__init__(f"no room left where {where} is kept")
        self.where = where


class DamagedCatalogError(CatalogError):
    """The file is no catalogue, or is damaged."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"{where} is not a whole catalogue: {reason}")
        self.where = where
        self.reason = reason


class NewerCatalogError(CatalogError):
    """The catalogue was written by a later version of this program. It is left untouched."""

    def __init__(self, where: str, found: str, known: str) -> None:
        super().__init__(f"{where} has format {found}; this version knows formats up to {known}")
        self.where = where
        self.found = found
        self.known = known


class NetworkDriveError(CatalogError):
    """The catalogue's folder lies on a network drive (`kind` as the system names it)."""

    def __init__(self, where: str, kind: str) -> None:
        super().__init__(f"{where} lies on a network drive ({kind})")
        self.where = where
        self.kind = kind


class DatabaseAddressError(CatalogError):
    """GLOSTBOOK_DATABASE_URL cannot be used: not an address, or its driver is not installed."""

    def __init__(self, address: str, reason: str) -> None:
        super().__init__(f"{address}: {reason}")
        self.address = address
        self.reason = reason


class DatabaseElsewhereError(CatalogError):
    """What is asked (`what`: "backed up", "restored") works on a catalogue in a file; this one is not."""

    def __init__(self, what: str) -> None:
        super().__init__(f"a catalogue in a database server cannot be {what} here")
        self.what = what


class BackupPlaceError(CatalogError):
    """A folder cannot hold a backup: `reason` says why."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"no backup can be kept in {where}: {reason}")
        self.where = where
        self.reason = reason


class BackupNotFoundError(CatalogError):
    """There is no backup in this folder, or (with `name`) none of its copies has this name."""

    def __init__(self, where: str, name: str | None = None, known: tuple[str, ...] = ()) -> None:
        super().__init__(f"no backup {name or ''} in {where}; there: {', '.join(known) or 'none'}")
        self.where = where
        self.name = name
        self.known = known


class BackupDamagedError(CatalogError):
    """A copy in a backup is not what was kept."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"{where} is not whole: {reason}")
        self.where = where
        self.reason = reason


class NotEmptyError(CatalogError):
    """A catalogue was to be put where one is already."""

    def __init__(self, where: str) -> None:
        super().__init__(f"there is a catalogue in {where}")
        self.where = where


class ScenarioError(CatalogError):
    """The demo's scenario file is missing something or names something unknown."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"{where}: {reason}")
        self.where = where
        self.reason = reason


class NotFreshError(CatalogError):
    """The sample studio was to be put into a catalogue that holds a potter's own work."""

    def __init__(self, where: str, piece_count: int, load_count: int) -> None:
        super().__init__(f"{where} holds {piece_count} pieces and {load_count} loads of its own")
        self.where = where
        self.piece_count = piece_count
        self.load_count = load_count
