"""``glostbook read``: say what photos show."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.commands.failures import Failures
from app.services.masks import write_masks
from app.services.reading import digest_of_file, failed_reading, find_photos, read_path
from app.words import Advice, error_advice, flag_advice
from app.words.face import face_lines, pool_words
from app.words.measures import (
    calibration_words,
    colour_words,
    crawling_words,
    crazing_words,
    density_words,
    doubt_words,
    finish_words,
    height_words,
    rating_words,
    running_words,
    subject_words,
)
from catalog.errors import CatalogError
from vision.rating import rate
from vision.reading import PhotoReading, TileReading
from vision.reading_json import reading_to_dict

if TYPE_CHECKING:
    from vision.pipeline import PhotoRead
    from vision.taught_card import TaughtCard

__all__ = ["read"]


def _each(args: argparse.Namespace, failures: Failures) -> Iterator[tuple[Path, PhotoRead | Advice]]:
    """Read each photo in turn; one that fails comes with its advice, told already."""
    paths, missing = find_photos(args.photos)
    for option, given in (("--outline", args.outlines), ("--stripe", args.stripes)):
        if given and len(paths) + len(missing) != 1:
            failures.add(option, Advice("What is drawn belongs to one photo.", "Name one photo with it."))
            return
    if args.pair is not None and len(paths) + len(missing) != 1:
        failures.add("--pair", Advice("A second photo belongs to one photo.", "Name one photo with it."))
        return
    for name, advice in missing:
        failures.add(name, advice)
        yield Path(name), advice
    pair = None if args.pair is None else Path(args.pair)
    cards = _taught()
    for number, path in enumerate(paths, start=1):
        sys.stderr.write(f"reading {number} of {len(paths)}: {path.name}\n")
        found = read_path(path, args.subject, args.outlines, cards, pair, args.stripes, args.thickness_mm)
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
    failures = Failures()
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
    told = [height_words(tile.plane_height), *face_lines(tile.face_colours)]
    if tile.running is not None:
        told.append(running_words(tile.running))
        told += [] if tile.running.pool is None else [pool_words(tile.running.pool)]
    lines += [f"     {line}" for line in (*told, rating_words(rate(tile))) if line]
    if tile.faults:
        faults = ", ".join(f"{call.fault} ({doubt_words(call.probability)})" for call in tile.faults)
        lines.append(f"     faults: {faults}")
    return lines
