"""The plane of tiles' faces by points that OpenCV's own camera model projects."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from vision.photo import decode_photo
from vision.plane_height import raise_plane
from vision.settings import TileSettings

SETTINGS = TileSettings()
SHAPE = (3024, 4032)
FOCAL_35MM = 26.0
FOCAL_PX = FOCAL_35MM / 43.27 * np.hypot(*SHAPE)
CAMERA = np.array([[FOCAL_PX, 0, (SHAPE[1] - 1) / 2], [0, FOCAL_PX, (SHAPE[0] - 1) / 2], [0, 0, 1.0]])
PLACES = np.array([[10.0, 20.0], [90.0, 15.0], [-140.0, 60.0], [160.0, -70.0]])


def photographed(height_mm, tilt_deg=0.0, turn_deg=0.0, away_mm=350.0):
    """Project places lifted over the card (x right, y down: up is away from the card's own third axis)."""
    turn, _ = cv2.Rodrigues(np.array([np.radians(tilt_deg), np.radians(tilt_deg / 3), np.radians(turn_deg)]))
    lifted = np.column_stack([PLACES, np.full(len(PLACES), -height_mm)])
    return cv2.projectPoints(lifted, turn, np.array([5.0, -8.0, away_mm]), CAMERA, None)[0][:, 0]


def card(**pose):
    return cv2.findHomography(PLACES, photographed(0.0, **pose))[0]


@pytest.mark.parametrize("pose", [{}, {"tilt_deg": 18.0}, {"tilt_deg": 24.0, "turn_deg": 130.0}], ids=str)
@pytest.mark.parametrize("height_mm", [0.0, 4.0, 9.0])
def test_places_on_the_face_come_back_in_millimetres(pose, height_mm):
    raised = raise_plane(card(**pose), SHAPE, height_mm, FOCAL_35MM, SETTINGS)
    back = cv2.perspectiveTransform(photographed(height_mm, **pose)[None], raised.to_mm)[0]
    assert back == pytest.approx(PLACES, abs=0.02)
    assert raised.height.thickness_given
    assert raised.height.focal_given


def test_the_cameras_height_is_found():
    assert raise_plane(card(), SHAPE, 6.0, FOCAL_35MM, SETTINGS).height.camera_mm == pytest.approx(
        350.0, rel=1e-3
    )


def test_without_thickness_the_doubt_covers_the_usual_range():
    told = [raise_plane(card(), SHAPE, None, None, SETTINGS), raise_plane(card(), SHAPE, 9.0, 26.0, SETTINGS)]
    assumed, given = (raised.height for raised in told)
    assert (assumed.thickness_mm, assumed.thickness_given, assumed.focal_given) == (6.0, False, False)
    assert given.size_doubt < assumed.size_doubt / 3
    wide = [
        np.ptp(cv2.perspectiveTransform(photographed(9.0)[None], raised.to_mm)[0][:, 0]) for raised in told
    ]
    assert abs(wide[0] / wide[1] - 1) < 3 * assumed.size_doubt


def exif_photo(focal):
    image, out = Image.new("RGB", (64, 48), (90, 120, 60)), io.BytesIO()
    tags = Image.Exif()
    if focal is not None:
        tags.get_ifd(0x8769)[0xA405] = focal  # FocalLengthIn35mmFilm, Exif 2.32
    image.save(out, "JPEG", exif=tags)
    return decode_photo(out.getvalue(), "phone.jpg")


@pytest.mark.parametrize(("focal", "read"), [(26, 26.0), (0, None), (None, None)])
def test_the_lens_is_read_from_exif(focal, read):
    assert exif_photo(focal).focal_35mm == read
