"""Starting the background reader of a catalogue where there is none."""

from __future__ import annotations

import os
import subprocess
import sys
import time

from app.server import server_environment
from app.services.unload_reading import is_read_by_somebody
from catalog.store import Catalog

__all__ = ["see_to_reading"]

_AGAIN_AFTER_S = 3.0
_started: dict[str, tuple[subprocess.Popen[bytes], float]] = {}


def see_to_reading(catalog: Catalog) -> None:
    """Start a reader if photos are in line and nobody reads them. Cheap: may be asked every second."""
    folder = str(catalog.home.folder)
    known = _started.get(folder)
    if known is not None and (known[0].poll() is None or time.monotonic() - known[1] < _AGAIN_AFTER_S):
        return
    if is_read_by_somebody(catalog.home) or not catalog.unloadings.unread():
        return
    catalog.home.unloading.mkdir(parents=True, exist_ok=True)
    with (catalog.home.unloading / "reader.log").open("ab") as log:
        process = subprocess.Popen(  # our own module, our own interpreter
            [sys.executable, "-m", "app.unload_worker"],
            env={**server_environment(), "GLOSTBOOK_HOME": folder},
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            start_new_session=os.name != "nt",
        )
    _started[folder] = (process, time.monotonic())
