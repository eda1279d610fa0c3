"""Crazing, lone fine lines and crawling as pictures: one PNG a tile and kind, white where it is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vision.pipeline import PhotoRead

__all__ = ["write_masks"]


def write_masks(read: PhotoRead, folder: Path, stem: str) -> list[Path]:
    """Write each tile's masks of crazing and crawling, and of lone fine lines where there are any.

    Parameters
    ----------
    read : a photo just read
    folder : where to
    stem : start of the file names: ``stem-1-crazing.png`` is the first tile's

    Returns
    -------
    the files written, in the tiles' order; each as large as the tile's straightened view
    """
    import numpy as np
    from PIL import Image

    written = []
    for number, view in enumerate(read.views, start=1):
        masks = [("crazing", view.crazing), ("crawling", view.crawling)]
        if view.lines.any():
            masks.append(("lines", view.lines))
        for name, mask in masks:
            path = folder / f"{stem}-{number}-{name}.png"
            Image.fromarray(np.where(mask, 255, 0).astype(np.uint8)).save(path)
            written.append(path)
    return written
