"""A restore's own folder beside the catalogue, and what is done with one whose program was killed.

Beside `studio` stands `studio.restoring` while a copy is put back: `new` is the catalogue being built,
`plan.json` says that it is whole and about to change places, `lock` is held by the program at work. Once
the plan stands, two renames follow: the present catalogue aside, the new one to its place. Killed before the
first of them nothing has changed, so the new one is let go; killed between the two there is no catalogue, so
the next program to open it does the second.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from catalog.errors import CatalogLockedError
from catalog.photos import sync_folder

__all__ = ["DROPPED", "FINISHED", "finish_restore", "make_ready", "new_catalogue", "restoring"]

DROPPED, FINISHED = "dropped", "finished"
"""What became of a restore that was cut off: all is as it was before it, or it is done."""

_WAIT_S = 15.0


def _beside(folder: Path) -> Path:
    return folder.with_name(f"{folder.name}.restoring")


def new_catalogue(folder: Path) -> Path:
    """Give where the catalogue is built that shall stand in `folder`."""
    return _beside(folder) / "new"


@contextmanager
def restoring(folder: Path) -> Iterator[None]:
    """Hold the place of the one restore into `folder`, settled before; at the end nothing is left beside.

    Raises
    ------
    CatalogLockedError : another restore is at work.
    """
    with _held(folder, 0.0):
        new_catalogue(folder).mkdir()
        try:
            yield
        finally:
            _settle(folder)


def make_ready(folder: Path) -> None:
    """Say that the new catalogue is whole and written through, and that the renames follow."""
    place = _beside(folder)
    part = place / "plan.json.part"
    with part.open("w", encoding="utf-8") as file:
        file.write('{"whole": true}\n')
        file.flush()
        os.fsync(file.fileno())
    part.rename(_plan(folder))
    sync_folder(place)


def finish_restore(folder: Path) -> str | None:
    """Finish a restore that was cut off, or let it go; gives `FINISHED`, `DROPPED`, or None where none was.

    Raises
    ------
    CatalogLockedError : the restore is still at work.
    """
    if not _beside(folder).is_dir():
        return None
    with _held(folder, _WAIT_S):
        return _settle(folder)


def _settle(folder: Path) -> str | None:
    new = new_catalogue(folder)
    if not new.is_dir():
        done = None
    elif _plan(folder).exists() and not (folder.is_dir() and any(folder.iterdir())):
        if folder.is_dir():
            folder.rmdir()
        new.rename(folder)
        sync_folder(folder.parent)
        done = FINISHED
    else:
        done = DROPPED
    _let_go(folder)
    return done


def _let_go(folder: Path) -> None:
    # The plan first: without it whatever is left of the new catalogue is never taken for a whole one.
    _plan(folder).unlink(missing_ok=True)
    shutil.rmtree(_beside(folder), ignore_errors=True)


def _plan(folder: Path) -> Path:
    return _beside(folder) / "plan.json"


@contextmanager
def _held(folder: Path, wait_s: float) -> Iterator[None]:
    from filelock import FileLock, Timeout

    place = _beside(folder)
    place.mkdir(parents=True, exist_ok=True)
    try:
        with FileLock(place / "lock", timeout=wait_s):
            yield
    except Timeout as error:
        raise CatalogLockedError(str(folder), wait_s) from error
