"""Thresholds of loading a photo."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["PhotoSettings"]


@dataclass(frozen=True, slots=True)
class PhotoSettings:
    """Loading: what is accepted."""

    limit_megapixels: float = 120.0
    """Largest photo decoded, megapixels. Phones in use reach 108; more is taken for a decompression bomb."""
    limit_file_mb: float = 400.0
    """Largest file read at all, megabytes. A 100-megapixel raw file holds about 200; our own limit."""
    salvage_fraction: float = 0.75
    """Rows of a cut-off JPEG that must be readable before it is read with a flag, 0..1; our own limit."""
