"""Commands that take photos: say what they show, or read and file them."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.services.masks import write_masks
from app.services.reading import digest_of_file, failed_reading, find_photos, read_path, view_files
from app.words import Advice, error_advice, flag_advice
from app.words.measures import (
    calibration_words,
    colour_words,
    crawling_words,
    crazing_words,
    density_words,
    doubt_words,
    finish_words,
    subject_words,
)
from catalog.errors import CatalogError
from vision.reading import PhotoReading, TileReading
from vision.reading_json import reading_to_dict

if TYPE_CHECKING:
    from catalog.records import Layer
    from catalog.store import Catalog
    from vision.pipeline import PhotoRead
    from vision.taught_card import TaughtCard

__all__ = ["read", "unload"]


class _Failures:
    """Counts inputs that failed, each named on standard error as it happens."""

    def __init__(self) -> None:
        self.count = 0

    def add(self, name: str, advice: Advice) -> None:
        self.count += 1
        sys.stderr.write(f"{name}: {advice}\n")

    @property
    def exit_code(self) -> int:
        return 1 if self.count else 0


def _each(args: argparse.Namespace, failures: _Failures) -> Iterator[tuple[Path, PhotoRead | Advice]]:
    """Read each photo in turn; one that fails comes with its advice, told already."""
    paths, missing = find_photos(args.photos)
    if args.outlines and len(paths) + len(missing) != 1:
        failures.add("--outline", Advice("An outline belongs to one photo.", "Name one photo with it."))
        return
    for name, advice in missing:
        failures.add(name, advice)
        yield Path(name), advice
    cards = _taught()
    for number, path in enumerate(paths, start=1):
        sys.stderr.write(f"reading {number} of {len(paths)}: {path.name}\n")
        found = read_path(path, args.subject, args.outlines, cards)
        if isinstance(found, Advice):
            failures.add(str(path), found)
        yield path, found


def _taught() -> tuple[TaughtCard, ...]:
    """Give the studio's taught cards; a catalogue that cannot be opened is told and stops no reading."""
    from app.services.teaching import kept_cards

    try:
        return kept_cards()
    except CatalogError as error:
        sys.stderr.write(f"No taught card is used: {error_advice(error)}\n")
        return ()


def read(args: argparse.Namespace) -> int:
    """Say what each photo shows."""
    failures = _Failures()
    masks = None if args.masks is None else Path(args.masks)
    if masks is not None:
        masks.mkdir(parents=True, exist_ok=True)
    shown: list[dict[str, Any]] = []
    for path, found in _each(args, failures):
        if isinstance(found, Advice):
            reading = failed_reading(path.name, found.sentence, digest_of_file(path))
        else:
            reading = found.reading
            if masks is not None:
                for written in write_masks(found, masks, path.stem):
                    sys.stderr.write(f"wrote {written}\n")
        if args.json:
            shown.append({**reading_to_dict(reading), "path": str(path)})
        elif reading.error is None:
            sys.stdout.write(_told(reading) + "\n")
    if args.json:
        json.dump(shown, sys.stdout, indent=1, ensure_ascii=False, allow_nan=False)
        sys.stdout.write("\n")
    return failures.exit_code


def _told(reading: PhotoReading) -> str:
    """Give a reading as plain lines."""
    calibration = reading.calibration
    rests_on = calibration_words(calibration.kind, calibration.residual_delta_e_00, calibration.taught)
    lines = [
        f"{reading.photo}: {rests_on}",
    ]
    lines += [f"  ! {flag_advice(flag)}" for flag in reading.flags]
    for number, tile in enumerate(reading.tiles, start=1):
        lines += _told_tile(number, tile)
        lines += [f"     ! {flag_advice(flag)}" for flag in tile.flags if flag not in reading.flags]
    return "\n".join(lines)


def _told_tile(number: int, tile: TileReading) -> list[str]:
    counts: dict[str, int] = {}
    for mark in tile.marks:
        counts[str(mark.kind)] = counts.get(str(mark.kind), 0) + 1
    size = "" if tile.width_mm is None else f", {tile.width_mm:.0f} by {tile.height_mm:.0f} mm"
    label = "" if tile.label is None else f", label {tile.label}"
    lines = [
        f"  {number}. {subject_words(tile.subject)}{size}{label}",
        f"     {colour_words(tile.glaze)}",
        f"     {finish_words(tile.gloss)}; {'; '.join(density_words(tile.density_per_cm2, counts))}",
        f"     {crazing_words(tile.crazing)}; {crawling_words(tile.crawling)}",
    ]
    if tile.faults:
        told = ", ".join(f"{call.fault} ({doubt_words(call.probability)})" for call in tile.faults)
        lines.append(f"     faults: {told}")
    return lines


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A photo read but not filed yet: its pixels are dropped, its file is opened again when filed."""

    path: Path
    reading: PhotoReading
    views: dict[int, bytes]


def unload(args: argparse.Namespace) -> int:
    """Read photos and file every piece in them under a load; the codes filed are the result.

    Photos whose pieces all bear labels are filed at once; the others wait until all labels are known, so
    that no fresh code is one that a label bears.
    """
    from app.services.studio import body_named, glaze_layer, load_named
    from catalog.store import Catalog

    failures = _Failures()
    with Catalog.open() as catalog:
        load, made = load_named(catalog, args.load)
        if made:
            sys.stderr.write(f"made the load {load.name}\n")
        body = None if args.body is None else body_named(catalog, args.body)
        layers = () if args.glaze is None else (glaze_layer(catalog, args.glaze, coats=args.coats),)
        said = _Said(load.id, None if body is None else body.id, layers)
        labels: set[str] = set()
        waiting: list[_Waiting] = []
        for path, found in _each(args, failures):
            if isinstance(found, Advice):
                continue
            if not found.reading.tiles:
                failures.add(str(path), Advice("Nothing in it could be filed.", _why_empty(found.reading)))
                continue
            labels |= {tile.label for tile in found.reading.tiles if tile.label is not None}
            photo = _Waiting(path, found.reading, view_files(found))
            if all(tile.label is not None for tile in found.reading.tiles):
                _file(catalog, photo, said, labels, failures)
            else:
                waiting.append(photo)
        for photo in waiting:
            _file(catalog, photo, said, labels, failures)
    return failures.exit_code


@dataclass(frozen=True, slots=True)
class _Said:
    """What the command says of all pieces."""

    load_id: int
    body_id: int | None
    layers: tuple[Layer, ...]


def _file(catalog: Catalog, photo: _Waiting, said: _Said, labels: set[str], failures: _Failures) -> None:
    from app.services.filing import file_views, plain_drafts, with_codes

    name = photo.path.name
    try:
        drafts = with_codes(catalog, plain_drafts(photo.reading, said.body_id, said.layers), labels)
        filing = file_views(
            catalog, photo.path.read_bytes(), photo.reading, drafts, said.load_id, photo.views
        )
    except (CatalogError, OSError) as error:
        failures.add(str(photo.path), error_advice(error))
        return
    for code in (*filing.added, *filing.extended):
        sys.stdout.write(f"{code}\t{name}\n")
    for code in filing.repeated:
        sys.stderr.write(f"{name}: {code} was filed from this photo before; nothing was added\n")


def _why_empty(reading: PhotoReading) -> str:
    return (
        flag_advice(reading.flags[0]).next_step if reading.flags else "Take another photo on a plain table."
    )
