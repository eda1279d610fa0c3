"""Small copies of filed views, made once and kept in the catalogue's folder."""

from __future__ import annotations

import os
from io import BytesIO
from pathlib import Path

from PIL import Image

from app.services.pictures import shown_view
from catalog.records import KeptReading
from catalog.store import Catalog

__all__ = ["MOST_BYTES", "kept_thumbnail"]

MOST_BYTES = 300_000_000
"""When the small copies take more than this, those not looked at longest go: they can be made again."""
_TRIMMED = 0.8
_LOOK_EVERY = 500
"""The folder is weighed after so many new copies: weighing thousands of files takes a while."""
_made = 0


def kept_thumbnail(catalog: Catalog, reading: KeptReading, side_px: int) -> bytes | None:
    """Give a reading's view with its longest side at most `side_px`, as WebP; None if no view was kept.

    Made and written on the first call. Where the folder cannot be written to, it is made each time.
    Raises the catalogue's photo errors.
    """
    if reading.view_sha256 is None:
        return None
    folder = catalog.home.folder / "thumbnails" / reading.view_sha256[:2]
    path = folder / f"{reading.view_sha256}-{side_px}.webp"
    try:
        data = path.read_bytes()
    except OSError:
        data = b""
    if data:
        return data
    view = shown_view(catalog, reading.id)
    if view is None:
        return None
    data = _small(view, side_px)
    try:
        _write(folder, path, data)
    except OSError:  # full or read-only: the picture is shown all the same
        return data
    return data


def _small(view: bytes, side_px: int) -> bytes:
    with Image.open(BytesIO(view)) as opened:
        opened.draft("RGB", (side_px, side_px))
        image = opened.convert("RGB")
        image.thumbnail((side_px, side_px), Image.Resampling.LANCZOS)
    out = BytesIO()
    image.save(out, format="WEBP", quality=86, method=2)  # no metadata goes along
    return out.getvalue()


def _write(folder: Path, path: Path, data: bytes) -> None:
    global _made
    folder.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(f".{os.getpid()}.part")
    part.write_bytes(data)
    part.replace(path)
    _made += 1
    if _made % _LOOK_EVERY == 0:
        trim(folder.parent)


def trim(folder: Path, most_bytes: int = MOST_BYTES) -> int:
    """Remove small copies made longest ago until the rest take well under `most_bytes`; gives how many."""
    files = [(path, path.stat()) for path in folder.glob("??/*.webp")]
    total = sum(stat.st_size for _, stat in files)
    if total <= most_bytes:
        return 0
    removed = 0
    for path, stat in sorted(files, key=lambda pair: pair[1].st_mtime):
        if total <= _TRIMMED * most_bytes:
            break
        path.unlink(missing_ok=True)
        total -= stat.st_size
        removed += 1
    return removed
