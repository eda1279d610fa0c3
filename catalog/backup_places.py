"""Where the app may put a backup: it must not write, or look, wherever somebody at its screen types.

Allowed are folders that ``glostbook backup`` was given in a terminal of this computer, and folders under the
home of the user that the app runs as, but no hidden ones.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

from catalog.backup import own_folders
from catalog.database import translated
from catalog.errors import BackupPlaceError
from catalog.home import Home

__all__ = ["allowed_place", "chosen_places", "note_place"]

_FILE = "backup-folders.json"
_SYSTEM = (
    *("/bin", "/boot", "/dev", "/etc", "/lib", "/lib64", "/proc", "/run", "/sbin", "/sys", "/usr", "/var"),
    *(
        "/Applications",
        "/Library",
        "/System",
        "/private/etc",
        "/private/var",
        "C:/Windows",
        "C:/Program Files",
    ),
)
"""Folders of the system's own (Filesystem Hierarchy Standard 3.0, chapters 3, 4 and 6; those of other systems
from common practice, no source). Drives are mounted under /media, /mnt, /run/media or /Volumes."""
_DRIVES = ("/run/media",)


def chosen_places(home: Home) -> tuple[Path, ...]:
    """Give the folders that ``glostbook backup`` was given in a terminal, the last one first."""
    try:
        told = json.loads((home.folder / _FILE).read_text(encoding="utf-8"))
        return tuple(Path(each) for each in told if isinstance(each, str))
    except (OSError, ValueError, TypeError):
        return ()


def note_place(home: Home, folder: Path) -> None:
    """Remember a folder named in a terminal. Raises CatalogFullError, ReadOnlyCatalogError."""
    place = folder.expanduser().absolute()
    told = [str(place), *(str(each) for each in chosen_places(home) if each != place)]
    with translated(str(home.folder)):
        unfinished = home.folder / f".{_FILE}.part"
        unfinished.write_text(json.dumps(told), encoding="utf-8")
        unfinished.replace(home.folder / _FILE)


def allowed_place(home: Home, folder: Path) -> Path:
    """Give a folder that the app may back up to, as an absolute path. Looks into none.

    Raises
    ------
    BackupPlaceError : it is the catalogue's own, the system's, or named in no terminal and not in the home.
    """
    place = folder.expanduser().absolute()
    real = Path(os.path.realpath(place))
    if any(_meet(real, own) for own in own_folders(home)):
        raise BackupPlaceError(str(place), "it lies in the catalogue's own folder and would be lost with it")
    drive = any(_in(real, Path(each)) for each in _DRIVES)
    if real == Path(real.anchor) or (not drive and any(_in(real, Path(each)) for each in _SYSTEM)):
        raise BackupPlaceError(str(place), "it is one of the system's own folders")
    if real in {Path(os.path.realpath(each)) for each in chosen_places(home)}:
        return place
    mine = Path(os.path.realpath(Path.home()))
    if not _in(real, mine) or real == mine:
        raise BackupPlaceError(
            str(place),
            "from the screen a backup goes only to a folder in your home, or to one that you once named in a "
            "terminal on this computer: glostbook backup FOLDER",
        )
    if any(part.startswith(".") for part in real.relative_to(mine).parts):
        raise BackupPlaceError(str(place), "it is a hidden folder, where programs keep their own things")
    return place


def _in(place: Path, folder: Path) -> bool:
    return place.is_relative_to(folder)


def _meet(one: Path, own: Path) -> bool:
    own = Path(os.path.realpath(own))
    return one.is_relative_to(own) or own.is_relative_to(one)
