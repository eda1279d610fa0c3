"""``glostbook unload``: read photos and file them under a load; stopped and run again, it goes on."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from app.commands.failures import Failures
from app.commands.opening import opened
from app.services.reading import ReadItem, find_photos
from app.services.studio import load_named
from app.services.unload_filing import codes_said, file_photo
from app.services.unload_pairs import FiledFirst, filed_firsts, read_with_filed
from app.services.unload_reading import only_reader, read_kept, read_line
from app.words import Advice, error_advice, flag_advice
from app.words.unloading import filed_pair_words, paired_words
from catalog.errors import CatalogError
from catalog.photos import digest_of
from catalog.store import Catalog
from catalog.unloading.records import Told, Unloading, UnloadingPhoto
from vision.reading import METHOD, TWO_LAMPS_METHOD

__all__ = ["unload"]

_LOOK_EVERY_S = 0.5
_UNSURE = "the frame cuts it, and it may be no piece (the app's Unload files it when ticked)"


def unload(args: argparse.Namespace) -> int:
    """Read photos and file every piece in them under a load; the codes filed are the result.

    Photos whose pieces all bear labels are filed at once; the others wait until all labels are known, so
    that no fresh code is one that a label bears. What is read is kept: a run that was stopped or killed
    is gone on with by the same command, and by the app.
    """
    failures = Failures()
    paths, missing = find_photos(args.photos)
    for option, given in (("--outline", args.outlines), ("--stripe", args.stripes)):
        if given and len(paths) + len(missing) != 1:
            failures.add(option, Advice("What is drawn belongs to one photo.", "Name one photo with it."))
            return failures.exit_code
    if args.pair is not None and len(paths) + len(missing) != 1:
        failures.add("--pair", Advice("A second photo belongs to one photo.", "Name one photo with it."))
        return failures.exit_code
    for name, advice in missing:
        failures.add(name, advice)
    beside = None
    if args.pair is not None:
        try:
            beside = (Path(args.pair).read_bytes(), Path(args.pair).name)
        except OSError as error:
            failures.add(args.pair, error_advice(error))
            return failures.exit_code
    if not paths:
        return failures.exit_code
    with opened(args) as catalog:
        load, made = load_named(catalog, args.load)
        if made:
            sys.stderr.write(f"made the load {load.name}\n")
        unloading = _gone_on_with(catalog, load.id)
        if beside is not None:
            catalog.unloadings.keep_beside(*beside)
            _in_no_line(catalog, unloading, beside[0])
        mine = _take(catalog, unloading, paths, args, failures)
        filed: set[int] = set()

        def file_labelled(photo: UnloadingPhoto) -> None:
            if photo.id in mine and photo.state == "read" and all(row["code"] for row in photo.said):
                _file(catalog, photo.id, mine, unloading, args, failures)
                filed.add(photo.id)

        _read(catalog, unloading, mine, file_labelled, beside)
        for photo_id in mine:
            if photo_id not in filed:
                _file(catalog, photo_id, mine, unloading, args, failures)
        if all(photo.state in ("filed", "left_out") for photo in catalog.unloadings.photos_of(unloading.id)):
            catalog.unloadings.close(unloading.id)
    return failures.exit_code


def _gone_on_with(catalog: Catalog, load_id: int) -> Unloading:
    for unloading in catalog.unloadings.list():
        if unloading.load_id == load_id:
            catalog.unloadings.set_stopped(unloading.id, False)
            return unloading
    return catalog.unloadings.begin(load_id)


def _in_no_line(catalog: Catalog, unloading: Unloading, second: bytes) -> None:
    """Leave out the second photo of a pair where it had been given by itself and is not filed."""
    for photo in catalog.unloadings.photos_of(unloading.id):
        if photo.sha256 == digest_of(second):
            catalog.unloadings.leave_out(photo.id)


def _take(
    catalog: Catalog,
    unloading: Unloading,
    paths: Sequence[Path],
    args: argparse.Namespace,
    failures: Failures,
) -> dict[int, Path]:
    """Put the photos in line that are not read yet; gives all of them by number."""
    mine: dict[int, Path] = {}
    told = Told(args.thickness_mm, tuple(args.stripes))
    for path in paths:
        try:
            photo, new = catalog.unloadings.take(
                unloading.id, path.read_bytes(), path.name, args.subject, told
            )
        except (CatalogError, OSError) as error:
            failures.add(str(path), error_advice(error))
            continue
        mine[photo.id] = path
        if photo.told.second_of is not None:
            continue
        outlines = {f"only{i}": [list(corner) for corner in o] for i, o in enumerate(args.outlines, start=1)}
        method = METHOD if args.pair is None else {**METHOD, "two_lamps": TWO_LAMPS_METHOD}
        old = photo.reading is not None and photo.reading.method != method
        more = replace(photo.told, thickness_mm=told.thickness_mm, stripes=told.stripes)
        if outlines or old or (not new and (photo.subject != args.subject or photo.told != more)):
            catalog.unloadings.read_again(
                photo.id, subject=args.subject, outlines=outlines or None, told=more
            )
    return mine


def _read(
    catalog: Catalog,
    unloading: Unloading,
    mine: dict[int, Path],
    after: Callable[[UnloadingPhoto], None],
    beside: tuple[bytes, str] | None,
) -> None:
    """Read what is in line, or wait while the app's own reader does."""
    numbers = {photo_id: number for number, photo_id in enumerate(mine, start=1)}

    def say(photo: UnloadingPhoto) -> None:
        if photo.id in numbers:
            sys.stderr.write(f"reading {numbers[photo.id]} of {len(mine)}: {photo.name}\n")

    def read(photo: UnloadingPhoto, data: bytes, kept: Catalog) -> ReadItem:
        return read_kept(photo, data, kept, beside if photo.id in mine else None)

    while True:
        with only_reader(catalog.home) as free:
            if free:
                read_line(catalog, unloading.id, before=say, after=after, read=read)
                return
        state = catalog.unloadings.state(unloading.id)
        if not state.to_read:
            return
        sys.stderr.write(f"the app reads these photos already: {state.to_read} to go\n")
        time.sleep(_LOOK_EVERY_S)


def _file(
    catalog: Catalog,
    photo_id: int,
    mine: dict[int, Path],
    unloading: Unloading,
    args: argparse.Namespace,
    failures: Failures,
) -> None:
    photo, path = catalog.unloadings.photo(photo_id), mine[photo_id]
    if photo.told.second_of is not None:
        sys.stderr.write(f"{path.name}: joined to another photo, with which it is read; nothing was added\n")
        return
    if photo.reading is None:
        failures.add(str(path), Advice(*(photo.trouble or ("It was not read.", "Run the command again."))))
        return
    if args.pair is not None and photo.reading.beside is None:
        failures.add(
            str(path),
            Advice(
                f"The app read {photo.name} meanwhile, without its second photo.",
                "Close the app, then run the command again.",
            ),
        )
        return
    if not photo.reading.tiles:
        flags = photo.reading.flags
        step = flag_advice(flags[0]).next_step if flags else "Take another photo on a plain table."
        failures.add(str(path), Advice("Nothing in it could be filed.", step))
        return
    left = [index for index, row in enumerate(photo.said, start=1) if not row["file"]]
    if len(left) == len(photo.said):
        step = "Take the photo again with the whole piece in it, or say what it shows with --as."
        failures.add(str(path), Advice("Only something that the frame cuts was found in it.", step))
        return
    for index in left:
        sys.stderr.write(f"{path.name}: piece {index} was not filed; {_UNSURE}\n")
    photos = catalog.unloadings.photos_of(unloading.id)
    pair = next((one for one in filed_firsts(catalog, photos) if one.second.id == photo_id), None)
    if pair is not None and args.apart:
        catalog.unloadings.propose_pair(photo_id, None)
    elif pair is not None:
        _second_of_filed(catalog, pair, path, join=args.join, failures=failures)
        return
    given = {"body": args.body, "glaze": args.glaze, "coats": args.coats}
    said = [{**row, **{k: v for k, v in given.items() if v is not None}} for row in photo.said]
    catalog.unloadings.say(photo_id, said)
    try:
        filing = file_photo(
            catalog, catalog.unloadings.photo(photo_id), unloading.load_id, codes_said(photos)
        )
    except (CatalogError, OSError) as error:
        failures.add(str(path), error_advice(error))
        return
    for code in (*filing.added, *filing.extended):
        sys.stdout.write(f"{code}\t{path.name}\n")
    for code in filing.repeated:
        sys.stderr.write(f"{path.name}: {code} was filed from this photo before; nothing was added\n")
    sys.stdout.flush()


def _second_of_filed(
    catalog: Catalog, pair: FiledFirst, path: Path, *, join: bool, failures: Failures
) -> None:
    """Read a photo together with the filed one whose second it is, or say that a person must choose."""
    if not join:
        words = filed_pair_words(path.name, pair.first.name, pair.codes)
        step = (
            "It waits. Run the command again with --join to read both as one (the reading filed before is "
            "kept), or with --apart to file this photo by itself."
        )
        failures.add(str(path), Advice(words, step))
        return
    try:
        done = read_with_filed(catalog, pair)
    except (CatalogError, OSError) as error:
        done = error_advice(error)
    if isinstance(done, Advice):
        failures.add(str(path), done)
        return
    for code in done:
        sys.stdout.write(f"{code}\t{path.name}\n")
    sys.stderr.write(f"{path.name}: {paired_words(pair.first.name, done)}\n")
    sys.stdout.flush()
