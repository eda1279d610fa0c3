"""A shareable photo shows the same picture and says nothing of where, by whom and with what it was taken."""

import io
import struct

import numpy as np
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from vision.errors import UnreadablePhotoError
from vision.photo import decode_photo
from vision.shareable import _exif_block, private_parts, shareable

PLACE = (IFDRational(52), IFDRational(31), IFDRational(12))
SECRETS = (b"SN-4711", b"Ana Example", b"LensSN-1", b"Kiln Lane", b"2026:10:19")
XMP = (
    b'<x:xmpmeta xmlns:x="adobe:ns:meta/">'
    b'<r exif:GPSLatitude="52,31N" aux:SerialNumber="SN-4711"/></x:xmpmeta>'
)


def exif(turn=1):
    found = Image.Exif()
    found[0x0112] = turn
    found[0x013B] = "Ana Example"
    found[0x010E] = "Kiln Lane"
    inner = found.get_ifd(0x8769)
    inner.update({0xA431: "SN-4711", 0xA435: "LensSN-1", 0x9003: "2026:10:19 09:00:00"})
    found.get_ifd(0x8825).update({1: "N", 2: PLACE, 3: "E", 4: PLACE})
    return found


def picture():
    """An uneven picture, wider than high, so that a lost turn shows."""
    rows, cols = np.mgrid[0:90, 0:140]
    return Image.fromarray(np.stack([rows * 2, cols, rows * cols // 60], axis=2).astype(np.uint8))


def written(kind, turn=1, **more):
    out = io.BytesIO()
    picture().save(out, format=kind, exif=exif(turn).tobytes(), **more)
    return out.getvalue()


FORMATS = {
    "JPEG": {"quality": 90, "xmp": XMP, "comment": b"Kiln Lane"},
    "PNG": {},
    "WEBP": {"lossless": True, "xmp": XMP},
}


@pytest.mark.parametrize("turn", [1, 6, 8, 3])
@pytest.mark.parametrize("kind", FORMATS)
def test_the_picture_stays_and_all_else_goes(kind, turn):
    data = written(kind, turn, **FORMATS[kind])
    assert {"place", "serial", "name"} <= private_parts(data, "a")
    assert any(secret in data for secret in SECRETS)
    clean = shareable(data, "a")
    assert private_parts(clean, "a") == frozenset()
    assert not [secret for secret in SECRETS if secret in clean]
    before, after = decode_photo(data, "a"), decode_photo(clean, "a")
    assert np.array_equal(before.pixels, after.pixels)
    assert before.pixels.shape == ((140, 90, 3) if turn in (6, 8) else (90, 140, 3))
    assert after.taken_at is None
    assert shareable(clean, "a") == clean


def test_a_progressive_jpeg_with_restarts_and_a_profile_stays_the_same_picture():
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for more in ({"progressive": True}, {"restart_marker_rows": 1}, {"subsampling": 0, "optimize": True}):
        data = written("JPEG", icc_profile=profile, **more)
        clean = shareable(data, "a")
        assert np.array_equal(decode_photo(data, "a").pixels, decode_photo(clean, "a").pixels)
        with Image.open(io.BytesIO(clean)) as image:
            assert image.info["icc_profile"] == profile


def test_what_stands_behind_the_picture_is_left_off():
    """Phones append previews, motion and depth with EXIF of their own."""
    data = written("JPEG") + written("JPEG") + b"MotionPhoto_Data" + b"\x00" * 100
    clean = shareable(data, "a")
    assert clean.count(b"\xff\xd8\xff") == 1
    assert clean.endswith(b"\xff\xd9")
    assert not [secret for secret in SECRETS if secret in clean]


def test_a_multi_picture_file_keeps_its_first():
    out = io.BytesIO()
    second = Image.new("RGB", (40, 30), (200, 10, 10))
    picture().save(out, format="MPO", save_all=True, append_images=[second], exif=exif().tobytes())
    clean = shareable(out.getvalue(), "a")
    assert b"MPF\x00" not in clean
    assert np.array_equal(decode_photo(out.getvalue(), "a").pixels, decode_photo(clean, "a").pixels)


@pytest.mark.parametrize("kind", ["TIFF", "BMP"])
def test_other_formats_become_jpeg(kind):
    out = io.BytesIO()
    more = {"exif": exif()} if kind == "TIFF" else {}
    picture().save(out, format=kind, **more)
    clean = shareable(out.getvalue(), "a")
    assert clean.startswith(b"\xff\xd8")
    assert private_parts(clean, "a") == frozenset()
    difference = decode_photo(clean, "a").pixels.astype(int) - np.asarray(picture()).astype(int)
    assert np.abs(difference).mean() < 3
    assert shareable(clean, "a") == clean


def test_heic_becomes_jpeg():
    import pillow_heif

    out = io.BytesIO()
    pillow_heif.from_pillow(picture()).save(out, quality=90, exif=exif().tobytes())
    assert "place" in private_parts(out.getvalue(), "a.heic")
    clean = shareable(out.getvalue(), "a.heic")
    assert private_parts(clean, "a.jpg") == frozenset()
    assert not [secret for secret in SECRETS if secret in clean]


@pytest.mark.parametrize(
    "data",
    [b"\xff\xd8", b"\xff\xd8\xff\xe1\x00\x01", b"\xff\xd8" + b"x" * 50, b"\x89PNG\r\n\x1a\n", b"GIF89a", b""],
)
def test_damaged_files_say_so_or_come_out_empty_handed(data):
    try:
        clean = shareable(data, "a")
    except UnreadablePhotoError:
        return
    assert len(clean) <= len(data)


def test_the_turn_block_is_what_the_standard_says():
    """Exif 2.32, 4.6.2: byte order, 42, offset, one entry of tag 0x0112, type SHORT, count 1."""
    assert struct.unpack("<2sHIHHHIHHI", _exif_block(6, adobe=False)) == (
        b"II",
        42,
        8,
        1,
        0x0112,
        3,
        1,
        6,
        0,
        0,
    )


@pytest.mark.parametrize("turn", [1, 6])
def test_adobe_rgb_told_only_by_number_stays_adobe_rgb(turn):
    """A camera set to Adobe RGB writes no profile, only the index R03 (DCF 2.0); without it colours fade."""
    out = io.BytesIO()
    picture().save(out, format="JPEG", quality=95, exif=b"Exif\x00\x00" + _exif_block(turn, adobe=True))
    clean = shareable(out.getvalue() + b"tail", "a")
    assert clean == out.getvalue()[:2] + clean[2:]
    wide, narrow = (
        decode_photo(clean, "a").pixels,
        decode_photo(written("JPEG", turn, quality=95), "a").pixels,
    )
    assert np.abs(wide.astype(int) - narrow).mean() > 2
    assert np.array_equal(wide, decode_photo(out.getvalue(), "a").pixels)
