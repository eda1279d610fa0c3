"""Takes the grain of few samples out of a render, guided by its noise-free colour and normals."""

from __future__ import annotations

import numpy as np

from .noise import Field

__all__ = ["denoise"]


def denoise(light: Field, albedo: Field, normal: Field) -> Field:
    """Clean (rows, cols, 3) linear light; `albedo` 0..1 and `normal` -1..1 of the same shape guide it.

    Raises
    ------
    ImportError : the binding of Open Image Denoise (pip packages pyoidn and cffi) is not installed.
    """
    from pyoidn import denoise as clean

    parts = [np.ascontiguousarray(part, dtype=np.float32) for part in (light, np.clip(albedo, 0, 1), normal)]
    return np.asarray(clean(*parts, hdr=True, clean_aux=True, quality="fast"), dtype=np.float32)
