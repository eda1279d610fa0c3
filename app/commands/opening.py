"""The catalogue as a command opens it: nobody signs in, and the log says who ran the command.

Who may run commands on a computer may read and write the catalogue's files anyway, so a command asks for no
rights; it only writes down a name.
"""

from __future__ import annotations

import argparse
import getpass
import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from catalog.store import Catalog

__all__ = ["BY", "opened"]

BY = "GLOSTBOOK_BY"
"""Names who runs commands, where `--by` doesn't."""


def opened(args: argparse.Namespace) -> Catalog:
    """Open the catalogue for a command.

    Raises
    ------
    PersonNotFoundError : the catalogue has people, and who was named is none of them.
    """
    from catalog.store import Catalog

    catalog = Catalog.open()
    try:
        named = (args.by or os.environ.get(BY, "")).strip()
        return catalog.signed_by(named) if named else catalog.signed_by(_computer_user(), is_person=False)
    except BaseException:
        catalog.close()
        raise


def _computer_user() -> str:
    try:
        return f"computer user {getpass.getuser()}"
    except (KeyError, OSError):  # a bare container knows no name
        return "computer user"
