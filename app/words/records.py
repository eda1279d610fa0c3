"""Each error of `catalog` as a sentence and a next step."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.words.advice import Advice
from catalog.errors import (
    BackupDamagedError,
    BackupNotFoundError,
    BackupPlaceError,
    BodyNotFoundError,
    BucketNotFoundError,
    CatalogError,
    CatalogFullError,
    CatalogLockedError,
    CodeTakenError,
    DamagedCatalogError,
    DatabaseAddressError,
    DatabaseElsewhereError,
    InUseError,
    InvalidRecordError,
    JudgementNotFoundError,
    LoadNotFoundError,
    NameTakenError,
    NetworkDriveError,
    NewerCatalogError,
    NotEmptyError,
    NotFreshError,
    NothingToUndoError,
    PhotoDamagedError,
    PhotoMismatchError,
    PhotoMissingError,
    PhotoStoreError,
    PieceNotFoundError,
    ReadingNotFoundError,
    ReadOnlyCatalogError,
    RecipeNotFoundError,
    ScenarioError,
    UnloadingNotFoundError,
)
from catalog.exchange.errors import NewerPackageError, PackageError

__all__ = ["RECORD_ERRORS"]


def _piece(error: Any) -> Advice:
    if error.deleted:
        return Advice(f"{error.code} was removed.", "Bring it back, or choose another piece.")
    if error.nearest:
        return Advice(f"No piece is filed as {error.code}.", f"Did you mean {' or '.join(error.nearest)}?")
    return Advice(f"No piece is filed as {error.code}.", "Look on the Shelf for the codes there are.")


def _code_taken(error: Any) -> Advice:
    if error.field == "code":
        return Advice(f"The code {error.code} is in use already.", "Give this piece another code.")
    return Advice(
        f"{error.code} is filed already with {error.field} {error.kept}; this says {error.given}.",
        f"Correct the {error.field} here, or give this piece another code.",
    )


def _gone(what: str) -> Callable[[Any], Advice]:
    return lambda error: Advice(
        f"That {what} is not in the catalogue (any more).", "Choose another from the list."
    )


def _no_backup(error: Any) -> Advice:
    if error.name is None or not error.known:
        return Advice(f"There is no backup in {error.where}.", "Name the folder that glostbook backup wrote.")
    return Advice(
        f"The backup in {error.where} has no copy {error.name}.", f"It has: {', '.join(error.known[:5])}."
    )


def _bucket(error: Any) -> Advice:
    near = f"Did you mean {' or '.join(error.nearest)}?" if error.nearest else "Make it under Bench first."
    return Advice(f"No bucket is kept as {error.code}.", near)


def _invalid(error: Any) -> Advice:
    field = error.field.replace("_", " ")
    nothing = error.given is None or (isinstance(error.given, str | tuple | list) and not error.given)
    found = f"Nothing is given for the {field}." if nothing else f"The {field} cannot be {error.given!r}."
    return Advice(found, f"Give {error.wanted}.")


RECORD_ERRORS: dict[type[BaseException], Callable[[Any], Advice]] = {
    CatalogError: lambda error: Advice(
        f"The catalogue could not do this: {error}.", "Nothing filed before was changed."
    ),
    InvalidRecordError: _invalid,
    PieceNotFoundError: _piece,
    LoadNotFoundError: _gone("load"),
    RecipeNotFoundError: _gone("glaze"),
    BodyNotFoundError: _gone("clay body"),
    JudgementNotFoundError: _gone("judgement"),
    ReadingNotFoundError: _gone("reading"),
    UnloadingNotFoundError: _gone("unloading"),
    NameTakenError: lambda error: Advice(
        f"There is a {error.what} named {error.name} already.", "Give this one another name."
    ),
    CodeTakenError: _code_taken,
    InUseError: lambda error: Advice(
        f"The {error.what} {error.name} is used by {error.piece_count} pieces, so it stays.",
        "Change those pieces first.",
    ),
    PhotoMissingError: lambda error: Advice(
        f"The kept photo {error.sha256[:12]} is missing from the catalogue's folder.",
        "Put it back from your own copy by filing the same photo again; the figures are kept meanwhile.",
    ),
    PhotoDamagedError: lambda error: Advice(
        f"The kept photo {error.sha256[:12]} has changed since it was filed.",
        "Put it back from a copy; the figures read from it are kept.",
    ),
    PhotoStoreError: lambda error: Advice(
        f"The photo store {error.where} cannot be used now: {error.reason}.",
        "Nothing filed was lost and nothing was half filed. See that it can be reached, or correct "
        "GLOSTBOOK_PHOTOS_URL, then do it again.",
    ),
    PhotoMismatchError: lambda error: Advice(
        f"The reading of {error.photo} was made from another photo.", "Read this photo again, then file it."
    ),
    CatalogLockedError: lambda error: Advice(
        f"The catalogue was busy for {error.waited_s:g} seconds.",
        "Close other windows that are filing photos and try again; nothing was lost.",
    ),
    ReadOnlyCatalogError: lambda error: Advice(
        f"The catalogue at {error.where} cannot be written{f' ({error.reason})' if error.reason else ''}.",
        "Check the folder's permissions, or set GLOSTBOOK_HOME to a folder of yours.",
    ),
    CatalogFullError: lambda error: Advice(
        f"The disk that holds {error.where} is full, so the last step was not kept.",
        "Free some room and do it again; all that was filed before is still there.",
    ),
    DamagedCatalogError: lambda error: Advice(
        f"{error.where} is not a whole catalogue: {error.reason}.",
        "Put back one from its folder named copies, or set GLOSTBOOK_HOME to an empty folder to start anew.",
    ),
    NewerCatalogError: lambda error: Advice(
        f"{error.where} was written by a later version of Glostbook and was left untouched.",
        "Install the later version to open it.",
    ),
    NetworkDriveError: lambda error: Advice(
        f"The catalogue's folder {error.where} lies on a network drive ({error.kind}), where two computers "
        "can spoil it.",
        "Keep it on this computer's own disk (GLOSTBOOK_HOME) and back up to the drive. To use it there all "
        "the same, from one computer at a time, set GLOSTBOOK_NETWORK_DRIVE=yes.",
    ),
    DatabaseAddressError: lambda error: Advice(
        f"GLOSTBOOK_DATABASE_URL cannot be used: {error.reason}.",
        "Correct it, or unset it to keep the catalogue in a file.",
    ),
    DatabaseElsewhereError: lambda error: Advice(
        f"This catalogue is in a database server, so it is not {error.what} here.",
        "Use the server's own tools, or glostbook export for a package that any catalogue takes.",
    ),
    BackupPlaceError: lambda error: Advice(
        f"No backup can be kept in {error.where}: {error.reason}.",
        "Name an empty folder, best on another drive, or one that glostbook backup wrote.",
    ),
    BackupNotFoundError: _no_backup,
    BackupDamagedError: lambda error: Advice(
        f"The copy {error.where} is not whole: {error.reason}.",
        "Nothing was changed. Choose an earlier copy: glostbook restore BACKUP --list.",
    ),
    PackageError: lambda error: Advice(
        f"{error.where} cannot be taken in{f' ({error.entry})' if error.entry else ''}: {error.reason}.",
        "Nothing was changed. Ask for the package again, written anew and copied whole.",
    ),
    NewerPackageError: lambda error: Advice(
        f"{error.where} was written by a later version of Glostbook.",
        "Nothing was changed. Install the later version to take it in.",
    ),
    NotEmptyError: lambda error: Advice(
        f"There is a catalogue in {error.where} already.",
        "Add --set-aside to move it out of the way, whole, or set GLOSTBOOK_HOME to another folder.",
    ),
    NotFreshError: lambda error: Advice(
        f"{error.where} holds work of your own ({error.piece_count} pieces, {error.load_count} loads), "
        "so the sample studio was not put into it.",
        "Run glostbook demo --fresh to set that work aside whole, or set GLOSTBOOK_HOME to an empty folder.",
    ),
    BucketNotFoundError: _bucket,
    NothingToUndoError: lambda error: Advice(
        f"There is no {error.kind} left to undo.", "Whatever was kept last is undone already."
    ),
    ScenarioError: lambda error: Advice(
        f"The sample studio in {error.where} cannot be used: {error.reason}.",
        "Point to the folder sample_images of this program with --from.",
    ),
}
