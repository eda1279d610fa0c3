"""Commands that hand a catalogue on and take another in."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from app.commands.asking import write_json
from app.commands.keeping import progress_told
from app.commands.opening import opened
from app.words.packages import carried_words, import_note_words, import_words

__all__ = ["export", "take"]


def export(args: argparse.Namespace) -> int:
    """Write the catalogue as an open package; its path is the result. 1 where a file was lost before."""
    from catalog.exchange.export import export_package

    if Path(args.out).is_dir():
        sys.stderr.write(f"{args.out} is a folder. Name a file in it, such as studio.zip.\n")
        return 1
    with opened(args) as catalog:
        done = export_package(
            catalog, Path(args.out), originals=args.originals, progress=progress_told("looking at")
        )
    for words in carried_words(done):
        sys.stderr.write(f"{words}\n")
    for name in done.held_back:
        sys.stderr.write(f"left out, because nobody can tell what it carries: {name}\n")
    for name in done.lost:
        sys.stderr.write(f"not whole in the catalogue's folder, so not in the package: {name}\n")
    sys.stdout.write(f"{done.place}\n")
    return 1 if done.lost or done.held_back else 0


def take(args: argparse.Namespace) -> int:
    """Say what a package would bring; with --yes bring it in."""
    from catalog.exchange.take import look_at_package, take_package

    path = Path(args.package)
    with opened(args) as catalog:
        run = take_package if args.yes else look_at_package
        report = run(catalog, path, progress_told("reading"))
    if args.json:
        write_json(
            {
                "package": str(path),
                "taken": bool(args.yes),
                "tables": {
                    table: {"added": c.added, "known": c.known, "stays_as_here": c.ours}
                    for table, c in sorted(report.counts.items())
                },
                "notes": [import_note_words(note) for note in report.notes],
            }
        )
    else:
        for words in (*import_words(report, done=args.yes), *map(import_note_words, report.notes)):
            sys.stdout.write(f"{words}\n")
    if not args.yes:
        sys.stderr.write("Nothing was changed. To bring it in, add --yes; a backup first is wise.\n")
    return 0
