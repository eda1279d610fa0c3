"""Surfaces with known marks, nets and bare patches, from rendered photos and the truth beside them.

Outlines and glaze lines are the truth's; all after them (straightening, glints, blur) is what a reading does.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import srgb8_to_lab
from vision.marks.examples import KnownMark
from vision.masks import find_glint, part_surface
from vision.photo import load_photo
from vision.piece_net import in_view, map_pieces
from vision.reading import Subject
from vision.settings import Settings
from vision.sharpness import measure_blur
from vision.surface import BoolMask, ByteImage, Surface
from vision.tiles import Piece
from vision.view import StraightView, straighten

__all__ = [
    "KnownSurface",
    "known_surfaces",
    "known_views",
    "marks_in_view",
    "shrunk",
    "split_files",
    "truth_files",
    "with_grain",
]


@dataclass(frozen=True, slots=True, eq=False)
class KnownSurface:
    """A surface and what is truly on it.

    Attributes
    ----------
    name : photo and number of the piece
    surface : as the measuring stages get it
    marks : in pixels of the surface
    crazing, crawling : the truth's own entries
    crazed, crawled : (rows, cols) bool in pixels of the surface, None without a mask
    """

    name: str
    surface: Surface
    marks: tuple[KnownMark, ...]
    crazing: dict[str, Any]
    crawling: dict[str, Any]
    crazed: BoolMask | None
    crawled: BoolMask | None


def truth_files(folders: Sequence[Path]) -> list[Path]:
    """List the truth files of several folders, in order."""
    return [path for folder in folders for path in sorted(folder.glob("*.json"))]


def split_files(folders: Sequence[Path], every: int) -> tuple[list[Path], list[Path]]:
    """Part the photos by the number at the end of their name, which is their seed.

    Parameters
    ----------
    folders : with truth files
    every : photos whose number is divisible by it are held out

    Returns
    -------
    fitted, held : truth files; all surfaces of a photo go to the same side
    """
    files = truth_files(folders)
    held = [path for path in files if int(path.stem.rsplit("_", 1)[1]) % every == 0]
    return [path for path in files if path not in set(held)], held


def marks_in_view(entry: dict[str, Any], to_photo: NDArray[np.float64]) -> tuple[KnownMark, ...]:
    """Bring a truth entry's marks from photo pixels to view pixels.

    Parameters
    ----------
    entry : a piece's truth with its `marks`
    to_photo : (3, 3) homography, view pixels to photo pixels
    """
    if not entry["marks"]:
        return ()
    to_view = np.linalg.inv(to_photo)
    centre = np.array([[m["x_px"], m["y_px"]] for m in entry["marks"]], np.float64)
    places = [
        cv2.perspectiveTransform((centre + step)[None], to_view)[0] for step in ([0, 0], [1, 0], [0, 1])
    ]
    across, along = places[1] - places[0], places[2] - places[0]
    scale = np.sqrt(np.abs(across[:, 0] * along[:, 1] - across[:, 1] * along[:, 0]))
    return tuple(
        KnownMark(str(m["kind"]), float(x), float(y), float(m["diameter_px"] * s))
        for m, (x, y), s in zip(entry["marks"], places[0], scale, strict=True)
    )


def _piece(entry: dict[str, Any], subject: Subject) -> Piece:
    outline = np.asarray(entry["outline_px"], np.float64)
    corners = entry.get("corners_px")
    if corners is None:
        (x0, y0), (x1, y1) = outline.min(axis=0), outline.max(axis=0)
        corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]
    return Piece(subject, outline, np.asarray(corners, np.float64))


def _mask(
    folder: Path, entry: dict[str, Any], kind: str, to_photo: NDArray[np.float64], like: BoolMask
) -> BoolMask | None:
    name = entry.get("masks", {}).get(kind)
    if name is None:
        return None
    photo_mask = cv2.imread(str(folder / name), cv2.IMREAD_GRAYSCALE)
    size = (like.shape[1], like.shape[0])
    warped = cv2.warpPerspective(photo_mask, to_photo, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    return np.asarray(warped > 127, np.bool_)


def _glazed(folder: Path, entry: dict[str, Any], to_photo: NDArray[np.float64], piece: BoolMask) -> BoolMask:
    """Give where there is glaze or was before it crawled; all of the piece without a mask."""
    glazed = _mask(folder, entry, "glazed", to_photo, piece)
    if glazed is None:
        return piece
    crawled = _mask(folder, entry, "crawl", to_photo, piece)
    return np.asarray(piece & (glazed if crawled is None else glazed | crawled), np.bool_)


def _blur_px(pixels: ByteImage, piece: Piece, shrink: float, settings: Settings) -> float:
    low, high = piece.outline_px.min(axis=0), piece.outline_px.max(axis=0)
    pad = settings.tiles.blur_pad * float((high - low).max())
    left, top = (int(max(0, v)) for v in low - pad)
    right, bottom = (int(v) for v in high + pad + 1)
    found = measure_blur(pixels[top:bottom, left:right], settings.tiles)
    if found is None:
        return settings.tiles.blur_unknown_px
    return max(found * shrink, settings.tiles.blur_floor_px)


def known_surfaces(truth_file: Path, settings: Settings, *, read: bool = False) -> Iterator[KnownSurface]:
    """Give each piece of one rendered photo as a surface with its truth; see `known_views`."""
    for known, _ in known_views(truth_file, settings, read=read):
        yield known


def known_views(
    truth_file: Path, settings: Settings, *, read: bool = False
) -> Iterator[tuple[KnownSurface, StraightView]]:
    """Give each piece of one rendered photo as a surface with its truth, and as it was straightened.

    Parameters
    ----------
    truth_file : the JSON beside the photo
    settings : of the reading
    read : part glaze from clay as a reading does, instead of by the truth's masks
    """
    truth = json.loads(truth_file.read_text(encoding="utf-8"))
    pixels = load_photo(truth_file.parent / truth["photo"], settings).pixels
    subject = Subject(truth["subject"])
    seen = map_pieces(pixels, settings.tiles) if read and subject is not Subject.PATCH else None
    for number, entry in enumerate(truth["tiles"]):
        if len(entry["outline_px"]) < 3:
            continue
        piece = _piece(entry, subject)
        view = straighten(pixels, piece, None, settings.tiles)
        if min(view.image.shape[:2]) < 48:
            continue
        lab = srgb8_to_lab(view.image).astype(np.float32)
        clipped = (view.image >= settings.tiles.clipped_code).all(axis=2)
        if read:
            clay = None if seen is None else in_view(seen.clay, seen, view.to_photo, view.piece.shape)
            slack_px = 0.0 if seen is None else settings.tiles.refine_steps * view.shrink / seen.scale
            parts = part_surface(lab, view.piece, clay, slack_px, settings.tiles)
            glazed, bare, glint = parts.glazed, parts.bare, parts.glint
        else:
            glazed = _glazed(truth_file.parent, entry, view.to_photo, view.piece)
            bare = np.asarray(view.piece & ~glazed, np.bool_)
            glint = find_glint(lab, glazed, settings.tiles)
        mm_per_px = entry.get("mm_per_px")
        surface = Surface(
            image=view.image,
            lab=lab,
            piece=view.piece,
            glazed=glazed,
            bare=bare,
            glint=np.asarray((glint | clipped) & glazed, np.bool_),
            mm_per_px=None if mm_per_px is None else mm_per_px / view.shrink,
            subject=subject,
            blur_px=_blur_px(pixels, piece, view.shrink, settings),
            frame_share=max(view.piece.shape) / view.shrink / truth.get("photo_px", max(pixels.shape[:2])),
        )
        known = KnownSurface(
            name=f"{truth_file.stem}.{number}",
            surface=surface,
            marks=marks_in_view(entry, view.to_photo),
            crazing=entry["crazing"],
            crawling=entry["crawling"],
            crazed=_mask(truth_file.parent, entry, "crazing", view.to_photo, view.piece),
            crawled=_mask(truth_file.parent, entry, "crawl", view.to_photo, view.piece),
        )
        yield known, view


def with_grain(surface: Surface, rng: np.random.Generator) -> Surface:
    """Lay a fine, patchy mottle over a surface's lightness: rutile, iron and matt glazes, which renders lack.

    Parameters
    ----------
    surface : not changed
    rng : seeded generator
    """
    rows, cols = surface.glazed.shape
    grain = rng.standard_normal((rows, cols), dtype=np.float32)
    stretch = float(np.exp(rng.normal(0, 0.4)))
    sigma = float(np.exp(rng.uniform(np.log(0.8), np.log(3.5))))
    grain = cv2.GaussianBlur(grain, (0, 0), sigma * stretch, sigmaY=sigma / stretch)
    grain /= max(float(grain.std()), 1e-6)
    if rng.random() < 0.5:
        grain = np.sign(grain) * np.maximum(np.abs(grain) - 0.8, 0) * 1.6
    few = rng.standard_normal((max(3, rows // 60), max(3, cols // 60))).astype(np.float32)
    patchy = cv2.resize(few, (cols, rows), interpolation=cv2.INTER_CUBIC)
    veil = 1 / (1 + np.exp(-3 * (patchy + rng.uniform(-0.5, 1.5))))
    lab = surface.lab.copy()
    lab[..., 0] = np.clip(lab[..., 0] + grain * veil * np.float32(rng.uniform(1.5, 9.0)), 0, 100)
    return replace(surface, lab=lab)


def shrunk(known: KnownSurface, rng: np.random.Generator) -> KnownSurface:
    """Give a surface as a poorer photo from further away shows it: smaller, softer, noisier, stored anew.

    Parameters
    ----------
    known : not changed; its craze and crawl masks are left out
    rng : seeded generator
    """
    surface = known.surface
    rows, cols = surface.glazed.shape
    share = float(np.clip(rng.uniform(0.5, 0.95), min(1.0, 100 / min(rows, cols)), 1.0))
    size = (max(48, round(cols * share)), max(48, round(rows * share)))
    image = cv2.resize(surface.image, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    soft = float(rng.uniform(0.2, 0.9)) if rng.random() < 0.5 else 0.0
    if soft > 0:
        image = cv2.GaussianBlur(image, (0, 0), soft)
    image += rng.standard_normal(image.shape, dtype=np.float32) * np.float32(rng.uniform(0, 4))
    gain = np.exp(rng.normal(0, 0.08, 3) + rng.normal(0, 0.15)).astype(np.float32)
    bytes_image = np.clip(np.rint(image * gain), 0, 255).astype(np.uint8)
    quality = [int(cv2.IMWRITE_JPEG_QUALITY), int(rng.integers(55, 95))]
    stored = cv2.imencode(".jpg", bytes_image[..., ::-1], quality)[1]
    worn = np.ascontiguousarray(np.asarray(cv2.imdecode(stored, cv2.IMREAD_COLOR), np.uint8)[..., ::-1])
    masks = [
        cv2.resize(mask.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
        for mask in (surface.piece, surface.glazed, surface.bare, surface.glint)
    ]
    return replace(
        known,
        surface=replace(
            surface,
            image=worn,
            lab=srgb8_to_lab(worn).astype(np.float32),
            piece=masks[0],
            glazed=masks[1],
            bare=masks[2],
            glint=masks[3],
            mm_per_px=None if surface.mm_per_px is None else surface.mm_per_px / share,
            blur_px=float(np.hypot(max(surface.blur_px * share, 0.3), soft)),
        ),
        marks=tuple(
            KnownMark(
                mark.kind,
                (mark.x_px + 0.5) * size[0] / cols - 0.5,
                (mark.y_px + 0.5) * size[1] / rows - 0.5,
                mark.diameter_px * share,
            )
            for mark in known.marks
        ),
        crazed=None,
        crawled=None,
    )
