"""Any file becomes an upright sRGB photo or a clear refusal."""

from __future__ import annotations

import io
import struct
import time
import zlib
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageCms

from tests.vision.icc_writer import P3, SRGB, matrix_profile, to_xyz
from vision.colour import delta_e_00, srgb8_to_lab
from vision.errors import PhotoTooLargeError, UnreadablePhotoError
from vision.photo import Photo, decode_photo, load_photo
from vision.reading import Flag
from vision.settings import PhotoSettings, Settings

SHARED = Path(__file__).parents[3] / "shared" / "data"
needs_shared = pytest.mark.skipif(
    not SHARED.is_dir(), reason="the shared photos are not beside the repository"
)


def picture(rows: int = 48, cols: int = 72) -> np.ndarray:
    """A smooth picture in which no turn or mirror looks like another."""
    y, x = np.mgrid[:rows, :cols].astype(np.float32)
    rgb = np.stack([40 + 180 * x / cols, 40 + 180 * y / rows, 200 - 120 * (x / cols) * (y / rows)], axis=-1)
    rgb[: rows // 3, : cols // 4] = (220, 40, 40)
    return rgb.astype(np.uint8)


def encoded(pixels: np.ndarray, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, kind, **options)
    return out.getvalue()


def mean_off(photo: Photo, wanted: np.ndarray) -> float:
    assert photo.pixels.shape == wanted.shape
    return float(np.abs(photo.pixels.astype(int) - wanted.astype(int)).mean())


# Formats


@pytest.mark.parametrize(
    ("kind", "options", "tolerance"),
    [
        ("JPEG", {"quality": 95}, 2.0),
        ("PNG", {}, 0.0),
        ("TIFF", {}, 0.0),
        ("TIFF", {"compression": "tiff_lzw"}, 0.0),
        ("WEBP", {"lossless": True}, 0.0),
        ("BMP", {}, 0.0),
        ("AVIF", {"quality": 95}, 3.0),
    ],
)
def test_reads_common_formats(kind: str, options: dict, tolerance: float) -> None:
    photo = decode_photo(encoded(picture(), kind, **options), f"a.{kind.lower()}")
    assert mean_off(photo, picture()) <= tolerance
    assert photo.pixels.dtype == np.uint8
    assert not photo.pixels.flags.writeable
    assert photo.flags == ()
    assert len(photo.sha256) == 64
    assert photo.taken_at is None


def test_reads_heic() -> None:
    import pillow_heif

    out = io.BytesIO()
    pillow_heif.from_pillow(Image.fromarray(picture())).save(out, quality=95)
    assert mean_off(decode_photo(out.getvalue(), "a.heic"), picture()) < 4.0


def test_heic_is_turned_once() -> None:
    """The file's own turn is made by the decoder; EXIF's must not be made again (ISO/IEC 23008-12)."""
    import pillow_heif

    exif = Image.Exif()
    exif[0x0112] = 6
    file = pillow_heif.from_bytes("RGB", (72, 48), picture().tobytes())
    out = io.BytesIO()
    file.save(out, quality=95, exif=exif.tobytes())
    assert b"irot" in out.getvalue(), "the encoder is to write the turn into the file itself"
    assert mean_off(decode_photo(out.getvalue(), "a.heic"), np.rot90(picture(), -1)) < 4.0


@pytest.mark.parametrize("bits16", [0, 129, 257, 12345, 32767, 65535])
@pytest.mark.parametrize("ending", [".tiff", ".png"])
def test_sixteen_bits_are_scaled_not_cut(bits16: int, ending: str) -> None:
    rgb = np.full((20, 30, 3), bits16, np.uint16)
    rgb[:, 10:, 0] = 65535
    rgb[:, 20:, 1] = 0
    data = cv2.imencode(ending, cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR))[1].tobytes()
    wanted = np.rint(rgb / 65535 * 255).astype(np.uint8)
    assert np.array_equal(decode_photo(data, "a" + ending).pixels, wanted)


def test_sixteen_bit_grey() -> None:
    grey = np.linspace(0, 65535, 600).reshape(20, 30).astype(np.uint16)
    data = cv2.imencode(".tiff", grey)[1].tobytes()
    photo = decode_photo(data, "a.tif")
    assert np.array_equal(photo.pixels[..., 1], np.rint(grey / 65535 * 255).astype(np.uint8))
    assert photo.flags == (Flag.GREY_PHOTO,)


def test_transparent_parts_lie_over_white() -> None:
    rgba = np.dstack([picture(), np.full((48, 72), 255, np.uint8)])
    rgba[10:20, 10:20, 3] = 0
    rgba[30:40, 30:40] = (0, 0, 0, 128)
    photo = decode_photo(encoded(rgba, "PNG"), "a.png")
    assert (photo.pixels[10:20, 10:20] == 255).all()
    assert np.abs(photo.pixels[30:40, 30:40].astype(int) - 127).max() <= 1
    assert np.array_equal(photo.pixels[0], picture()[0])


def test_grey_photos_are_flagged() -> None:
    grey = picture()[..., 0]
    for data, name in ((encoded(grey, "JPEG"), "a.jpg"), (encoded(np.dstack([grey] * 3), "PNG"), "a.png")):
        assert Flag.GREY_PHOTO in decode_photo(data, name).flags


def test_camera_raw_is_developed() -> None:
    """A DNG of our own: one flat field of a colour filter array, camera white as shot."""
    tifffile = pytest.importorskip("tifffile")
    field = np.full((256, 384), 12000, np.uint16)
    tags = [
        (50706, "B", 4, (1, 4, 0, 0), True),  # DNGVersion
        (50708, "s", 0, "Test", True),  # UniqueCameraModel
        (33421, "H", 2, (2, 2), True),  # CFARepeatPatternDim
        (33422, "B", 4, (0, 1, 1, 2), True),  # CFAPattern: R G G B
        (50717, "I", 1, 65535, True),  # WhiteLevel
        (
            50721,
            "2i",
            9,
            (10000, 10000, 0, 1, 0, 1, 0, 1, 10000, 10000, 0, 1, 0, 1, 0, 1, 10000, 10000),
            True,
        ),
        (50728, "2I", 3, (1, 1, 1, 1, 1, 1), True),  # AsShotNeutral
        (50778, "H", 1, 21, True),  # CalibrationIlluminant1: D65
    ]
    out = io.BytesIO()
    tifffile.imwrite(out, field, photometric=32803, planarconfig=1, extratags=tags, metadata=None)
    photo = decode_photo(out.getvalue(), "a.dng")
    assert photo.pixels.shape == (256, 384, 3)
    assert photo.pixels.reshape(-1, 3).std(axis=0).max() < 2.0


# The EXIF turn


def as_stored(upright: np.ndarray, turn: int) -> np.ndarray:
    """Exif 2.32, tag 0x0112: where row 0 and column 0 of the stored picture lie in the scene."""
    stored = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.transpose(1, 0, 2),
        6: np.rot90(upright, 1),
        7: upright[::-1, ::-1].transpose(1, 0, 2),
        8: np.rot90(upright, -1),
    }[turn]
    return np.ascontiguousarray(stored)


@pytest.mark.parametrize("turn", range(1, 9))
def test_every_turn_of_sixteen_bits_is_made_once(turn: int) -> None:
    tifffile = pytest.importorskip("tifffile")
    stored = as_stored(picture(), turn)
    out = io.BytesIO()
    tags = [(274, "H", 1, turn, True)]
    tifffile.imwrite(out, stored.astype(np.uint16) * 257, photometric="rgb", extratags=tags, metadata=None)
    assert np.array_equal(decode_photo(out.getvalue(), "a.tif").pixels, picture())


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP"])
@pytest.mark.parametrize("turn", range(1, 9))
def test_every_turn_is_made_once(kind: str, turn: int) -> None:
    upright = picture()
    stored = as_stored(upright, turn)
    exif = Image.Exif()
    exif[0x0112] = turn
    options: dict = {"exif": exif.tobytes()}
    options |= {"JPEG": {"quality": 95}, "WEBP": {"lossless": True}}.get(kind, {})
    photo = decode_photo(encoded(stored, kind, **options), "a")
    assert mean_off(photo, upright) < 3.0


@needs_shared
def test_the_eight_landscapes_look_the_same() -> None:
    photos = [load_photo(SHARED / "exif-orientation" / f"Landscape_{n}.jpg").pixels for n in range(1, 9)]
    first = cv2.GaussianBlur(photos[0], (0, 0), 12).astype(np.float32)
    for n, pixels in enumerate(photos, start=1):
        assert pixels.shape == photos[0].shape, f"orientation {n}"
        # each carries its own printed number, so sharp detail differs where it stands
        off = np.abs(cv2.GaussianBlur(pixels, (0, 0), 12).astype(np.float32) - first).mean()
        assert off < 2.5, f"orientation {n}: {off:.2f}"


def test_taken_at_is_iso_time_or_none() -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:03:01 09:30:00"
    data = encoded(picture(), "JPEG", exif=exif.tobytes())
    assert decode_photo(data, "a.jpg").taken_at == "2026-03-01T09:30:00"
    exif.get_ifd(0x8769)[0x9003] = "0000:00:00 00:00:00"
    assert decode_photo(encoded(picture(), "JPEG", exif=exif.tobytes()), "a.jpg").taken_at is None


# Colour profiles


def p3_codes_of(srgb: np.ndarray) -> np.ndarray:
    """The same colours written as Display P3 codes, by the published primaries."""
    code = srgb / 255.0
    linear = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    p3 = np.clip(linear @ np.linalg.solve(to_xyz(P3), to_xyz(SRGB)).T, 0, 1)
    return np.rint(255 * np.where(p3 <= 0.0031308, 12.92 * p3, 1.055 * p3 ** (1 / 2.4) - 0.055)).astype(
        np.uint8
    )


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "JPEG"])
def test_display_p3_reads_as_the_same_colour_in_srgb(kind: str) -> None:
    wanted = picture()
    stored = p3_codes_of(wanted)
    options: dict = {"icc_profile": matrix_profile(P3)}
    options |= {"quality": 98, "subsampling": 0} if kind == "JPEG" else {}
    photo = decode_photo(encoded(stored, kind, **options), "a")
    off = delta_e_00(srgb8_to_lab(photo.pixels), srgb8_to_lab(wanted))
    assert off.mean() < (0.8 if kind == "JPEG" else 0.4), f"mean delta E00 {off.mean():.2f}"
    ignored = delta_e_00(srgb8_to_lab(stored), srgb8_to_lab(wanted)).mean()
    assert ignored > 4 * off.mean(), "the test picture must tell the two apart"
    assert photo.flags == ()


@pytest.mark.parametrize(
    "profile", [matrix_profile(SRGB), ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()]
)
def test_an_srgb_profile_changes_nothing(profile: bytes) -> None:
    assert np.array_equal(
        decode_photo(encoded(picture(), "PNG", icc_profile=profile), "a.png").pixels, picture()
    )


@pytest.mark.parametrize("profile", [b"not a profile at all", matrix_profile(P3)[:200]])
def test_a_broken_profile_is_flagged(profile: bytes) -> None:
    photo = decode_photo(encoded(picture(), "JPEG", icc_profile=profile), "a.jpg")
    assert photo.flags == (Flag.PROFILE_IGNORED,)
    assert mean_off(photo, picture()) < 4.0


@needs_shared
@pytest.mark.parametrize(
    "name", ["image-format-cases/pillow/xmp_test.jpg", "image-format-cases/pillow/frame_size.mpo"]
)
def test_real_wide_gamut_files_match_an_independent_conversion(name: str) -> None:
    data = (SHARED / name).read_bytes()
    with Image.open(io.BytesIO(data)) as image:
        source = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
        wanted = ImageCms.profileToProfile(
            image.convert("RGB"), source, ImageCms.createProfile("sRGB"), renderingIntent=1
        )
    assert np.abs(decode_photo(data, name).pixels.astype(int) - np.asarray(wanted)).mean() < 1.0


@needs_shared
def test_a_p3_phone_photo_is_not_read_as_srgb() -> None:
    import pillow_heif

    path = SHARED / "image-format-cases/pillow_heif/arrow.heic"
    stored = np.asarray(pillow_heif.open_heif(path).to_pillow().convert("RGB"))
    photo = load_photo(path)
    assert photo.pixels.shape == (4032, 3024, 3)
    chroma = [np.ptp(p[::16, ::16].astype(int), axis=-1).mean() for p in (photo.pixels, stored)]
    assert chroma[0] > 1.03 * chroma[1], "P3 codes hold back: in sRGB the same colours take wider codes"


# Refusals


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"hello, this is a text", "not an image"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"<!doctype html><html>", "web page"),
        (b"\0\0\0\x18ftypqt  \0\0\0\0qt  ....", "video"),
        (b"\x89PNG\r\n\x1a\n", "damaged"),
        (b"\xff\xd8\xff", "damaged"),
    ],
)
def test_what_is_no_photo_is_named(data: bytes, words: str) -> None:
    with pytest.raises(UnreadablePhotoError, match=words):
        decode_photo(data, "a.jpg")


def png_bomb(width: int, height: int) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0"))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(("width", "height"), [(20000, 10000), (12000, 10001), (60000, 60000)])
def test_a_bomb_is_refused_by_its_header(width: int, height: int) -> None:
    start = time.perf_counter()
    with pytest.raises(PhotoTooLargeError) as caught:
        decode_photo(png_bomb(width, height), "bomb.png")
    assert time.perf_counter() - start < 0.5
    assert caught.value.megapixels == pytest.approx(width * height / 1e6, rel=0.01)


def test_the_limit_is_a_setting() -> None:
    tight = Settings(photo=replace(PhotoSettings(), limit_megapixels=0.003))
    for kind in ("JPEG", "PNG", "WEBP", "TIFF"):
        with pytest.raises(PhotoTooLargeError):
            decode_photo(encoded(picture(), kind), "a", tight)


def test_a_file_too_big_to_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(encoded(picture(), "JPEG"))
    with pytest.raises(UnreadablePhotoError, match="more than the"):
        load_photo(path, Settings(photo=replace(PhotoSettings(), limit_file_mb=0.0001)))
    assert load_photo(path).name == "a.jpg"
    with pytest.raises(FileNotFoundError):
        load_photo(tmp_path / "missing.jpg")


def test_a_cut_jpeg_is_salvaged_only_when_nearly_whole() -> None:
    rng = np.random.default_rng(5)
    rough = np.clip(picture(480, 640).astype(int) + rng.integers(-20, 20, (480, 640, 3)), 0, 255).astype(
        np.uint8
    )
    data = encoded(rough, "JPEG", quality=90)
    photo = decode_photo(data[: int(len(data) * 0.93)], "cut.jpg")
    assert photo.flags == (Flag.DAMAGED_FILE,)
    assert 0.8 * 480 < photo.pixels.shape[0] < 480
    whole = decode_photo(data, "whole.jpg").pixels
    assert np.array_equal(photo.pixels[:-16], whole[: photo.pixels.shape[0] - 16])
    with pytest.raises(UnreadablePhotoError, match="cut off: only the top"):
        decode_photo(data[: len(data) // 2], "half.jpg")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_a_truncated_file_is_refused_with_a_reason(kind: str) -> None:
    data = encoded(picture(200, 300), kind)
    with pytest.raises(UnreadablePhotoError):
        decode_photo(data[: len(data) // 2], "cut")


# Any bytes whatever
