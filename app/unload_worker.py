"""The program that reads unloadings' photos in the background: ``python -m app.unload_worker``.

One runs for each catalogue. It is started by the app, outlives it, and ends when nothing is left to read.
"""

from __future__ import annotations

import logging
import os
import sys
import time

from app.services.unload_reading import only_reader, read_line
from catalog.errors import CatalogError
from catalog.home import find_home
from catalog.store import Catalog

__all__ = ["main"]

IDLE_S = 20.0
"""How long it waits for further photos before it ends, seconds: starting anew takes two or three."""

_LOOK_EVERY_S = 0.3


def main() -> int:
    """Read until nothing is left."""
    logging.basicConfig(stream=sys.stderr, format="%(asctime)s %(message)s")
    if hasattr(os, "nice"):
        os.nice(5)
    home = find_home()
    with only_reader(home, wait_s=5.0) as free:
        if not free:
            return 0
        with Catalog.open() as catalog:
            last = time.monotonic()
            while time.monotonic() - last < IDLE_S and home.folder.is_dir():
                try:
                    if read_line(catalog, may_file=not catalog.people.any()):
                        last = time.monotonic()
                except CatalogError as error:
                    logging.warning("%s", error)
                    return 1
                time.sleep(_LOOK_EVERY_S)
    return 0


if __name__ == "__main__":
    sys.exit(main())
