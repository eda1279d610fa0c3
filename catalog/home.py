"""Where the catalogue lives: its folder, its database address, its photos."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

__all__ = ["DATABASE_NAME", "Home", "find_home"]

DATABASE_NAME = "catalogue.sqlite3"


@dataclass(frozen=True, slots=True)
class Home:
    """The places of one catalogue.

    Attributes
    ----------
    folder : holds everything, unless the database is elsewhere
    database_url : SQLAlchemy address of a database elsewhere; None where it is a file in the folder. It may
        hold a password, so it is never shown
    photos_url : fsspec address of photos and other kept files elsewhere (`catalog.photo_store`); None where
        they are in the folder. Never shown either
    """

    folder: Path
    database_url: str | None = field(default=None, repr=False)
    photos_url: str | None = field(default=None, repr=False)

    @property
    def photos(self) -> Path:
        """Folder of the kept photos, by digest."""
        return self.folder / "photos"

    @property
    def views(self) -> Path:
        """Folder of the straightened views, by digest."""
        return self.folder / "views"

    @property
    def logs(self) -> Path:
        """Folder of the kept kiln logs, by digest."""
        return self.folder / "logs"

    @property
    def unloading(self) -> Path:
        """Folder of the work pictures of photos not filed yet, by digest; all of it can be made again."""
        return self.folder / "unloading"

    @property
    def copies(self) -> Path:
        """Folder of the copies made before an upgrade."""
        return self.folder / "copies"

    @property
    def database_file(self) -> Path | None:
        """The SQLite file, None when the database is not a file."""
        if self.database_url is None:
            return self.folder / DATABASE_NAME
        prefix = "sqlite:///"
        if not self.database_url.startswith(prefix):
            return None
        return Path(self.database_url.removeprefix(prefix).split("?", 1)[0]).absolute()


def find_home(
    home: str | os.PathLike[str] | None = None, *, environment: Mapping[str, str] | None = None
) -> Home:
    """Tell where the catalogue is. Makes nothing.

    Parameters
    ----------
    home : folder of the catalogue; None takes ``GLOSTBOOK_HOME``, then the usual place for user data of
        this system (platformdirs). A folder given here is complete in itself: ``GLOSTBOOK_DATABASE_URL``
        and ``GLOSTBOOK_PHOTOS_URL`` count only where `home` is None, so that a copy opened by name never
        writes to the shared database or store.
    environment : variables to look in, `os.environ` by default
    """
    variables = os.environ if environment is None else environment
    if home is not None:
        folder = Path(home).expanduser().absolute()
        return Home(folder)
    named = variables.get("GLOSTBOOK_HOME", "").strip()
    if named:
        folder = Path(named).expanduser().absolute()
    else:
        from platformdirs import user_data_path

        folder = user_data_path("glostbook", appauthor=False).absolute()
    return Home(
        folder,
        variables.get("GLOSTBOOK_DATABASE_URL", "").strip() or None,
        variables.get("GLOSTBOOK_PHOTOS_URL", "").strip() or None,
    )
