"""The sets of open photographs: where they lie, and a photo of one as the reader takes it."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import srgb8_to_lab
from vision.photo import Photo, load_photo
from vision.reading import Subject
from vision.settings import Settings
from vision.sharpness import measure_blur
from vision.surface import Surface

DATA = Path(__file__).resolve().parents[4] / "shared" / "data"
"""Beside the checkout; each set's README gives its source and licence."""
SETTINGS = Settings()
IMAGE_ENDINGS = frozenset({".jpg", ".jpeg", ".png", ".heic"})


def image_files(folder: Path) -> list[Path]:
    """List a folder's images in the order of their names."""
    return sorted(path for path in folder.iterdir() if path.suffix.lower() in IMAGE_ENDINGS)


def read_mask(path: Path) -> NDArray[np.uint8]:
    """Read a mask as (rows, cols) uint8; of several channels the first, red."""
    mask = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    if mask is None:
        raise FileNotFoundError(path)
    return np.asarray(mask if mask.ndim == 2 else mask[..., 2], np.uint8)


def whole_surface(path: Path) -> tuple[Photo, Surface]:
    """Take a photo as a close-up without reflections: every pixel is glaze."""
    photo = load_photo(path)
    blur = measure_blur(photo.pixels, SETTINGS.tiles)
    everywhere = np.ones(photo.pixels.shape[:2], np.bool_)
    return photo, Surface(
        image=photo.pixels,
        lab=srgb8_to_lab(photo.pixels),
        piece=everywhere,
        glazed=everywhere,
        bare=~everywhere,
        glint=~everywhere,
        mm_per_px=None,
        subject=Subject.PATCH,
        blur_px=SETTINGS.tiles.blur_unknown_px if blur is None else blur,
    )
