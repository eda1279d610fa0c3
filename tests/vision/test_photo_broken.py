"""Files of every format, whole, broken and mutated: each is read or refused with a reason, nothing else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.vision.icc_writer import P3, matrix_profile
from tests.vision.test_photo import SHARED, encoded, needs_shared, picture
from vision.errors import VisionError
from vision.photo import decode_photo, load_photo

FORMAT_CASES = sorted((SHARED / "image-format-cases").glob("*/*.*")) if SHARED.is_dir() else []


REFUSED = {"broken.png", "truncated_jpeg.jpg", "corrupted.heic", "empty.heic", "ultrahdr.jpg", "LICENSE.txt"}


@needs_shared
@pytest.mark.parametrize("path", FORMAT_CASES, ids=lambda p: p.name)
def test_every_format_case_is_read_or_refused(path: Path) -> None:
    if path.name in REFUSED or path.name.startswith("crash-"):
        with pytest.raises(VisionError, match=path.name):
            load_photo(path)
    else:
        assert load_photo(path).pixels.ndim == 3


SEEDS = {
    "a.jpg": encoded(picture(24, 32), "JPEG", icc_profile=matrix_profile(P3)),
    "a.png": encoded(picture(24, 32), "PNG"),
    "a.tif": encoded(picture(24, 32), "TIFF"),
    "a.webp": encoded(picture(24, 32), "WEBP"),
    "a.dng": encoded(picture(24, 32), "TIFF"),
}


def read_or_refuse(data: bytes, name: str) -> None:
    try:
        photo = decode_photo(data, name)
    except VisionError:
        return
    assert photo.pixels.dtype == np.uint8
    assert photo.pixels.shape[2] == 3


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    data=st.binary(max_size=400),
    start=st.sampled_from(
        [b"", b"\xff\xd8", b"\x89PNG\r\n\x1a\n", b"II*\0", b"RIFF\0\0\0\0WEBP", b"\0\0\0\x18ftypheic"]
    ),
)
def test_random_bytes_raise_nothing_else(data: bytes, start: bytes) -> None:
    read_or_refuse(start + data, "a.jpg")


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    name=st.sampled_from(sorted(SEEDS)),
    places=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=12),
    keep=st.floats(0.3, 1.0),
)
def test_mutated_files_raise_nothing_else(name: str, places: list[tuple[float, int]], keep: float) -> None:
    data = bytearray(SEEDS[name])
    for where, value in places:
        data[min(int(where * len(data)), len(data) - 1)] = value
    read_or_refuse(bytes(data[: int(len(data) * keep) + 1]), name)
