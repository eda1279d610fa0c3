"""Starting the background reader of a catalogue where there is none."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from app.server import server_environment
from app.services.unload_reading import only_reader
from app.words.advice import Advice
from catalog.store import Catalog

__all__ = ["see_to_reading"]

_AGAIN_AFTER_S = 3.0
"""A reader that ended sooner than this is not started again at once."""

_MOST_FAILED = 3
"""Starts that failed one after the other before a person is told."""


@dataclass(slots=True)
class _Reader:
    process: subprocess.Popen[bytes]
    started_s: float
    failed: int


_started: dict[str, _Reader] = {}


def see_to_reading(catalog: Catalog) -> Advice | None:
    """Start a reader if photos are in line and nobody reads them. Cheap: may be asked every second.

    Gives what to do where readers fail one after the other, else None.
    """
    folder = str(catalog.home.folder)
    known = _started.get(folder)
    failed = 0
    if known is not None:
        ended = known.process.poll()
        if ended is None:
            return None
        failed = 0 if ended == 0 else known.failed + 1
        if time.monotonic() - known.started_s < _AGAIN_AFTER_S:
            return _told(catalog, failed)
    if not catalog.unloadings.unread():
        return None
    with only_reader(catalog.home) as free:
        if not free:
            return None
    _started[folder] = _Reader(_start(catalog, folder), time.monotonic(), failed)
    return _told(catalog, failed)


def _told(catalog: Catalog, failed: int) -> Advice | None:
    if failed < _MOST_FAILED:
        return None
    return Advice(
        "The program that reads photos stops as soon as it is started.",
        f"The reason stands at the end of {_log(catalog).name} in the folder {_log(catalog).parent}. "
        "All photos are kept.",
    )


def _log(catalog: Catalog) -> Path:
    return catalog.home.unloading / "reader.log"


def _start(catalog: Catalog, folder: str) -> subprocess.Popen[bytes]:
    catalog.home.unloading.mkdir(parents=True, exist_ok=True)
    with _log(catalog).open("ab") as log:
        return subprocess.Popen(
            [sys.executable, "-m", "app.unload_worker"],
            env={**server_environment(), "GLOSTBOOK_HOME": folder},
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            start_new_session=os.name != "nt",
        )
