"""Commands that keep a catalogue whole: look it over, mend it, back it up, put it back."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.commands.asking import write_json
from app.commands.opening import opened
from app.words.checking import RESTORE_WORDS, SAME_DISK_WORDS, problem_words

if TYPE_CHECKING:
    from catalog.backup import BackupCopy
    from catalog.checkup import Problem

__all__ = ["backup", "check", "progress_told", "restore"]


def check(args: argparse.Namespace) -> int:
    """Look the catalogue over, mend it where asked; 1 where something is left wrong."""
    from catalog.checkup import find_problems
    from catalog.home import find_home
    from catalog.mending import Mending, mend
    from catalog.restoring import finish_restore

    if args.source is not None and not args.mend:
        sys.stderr.write("--from names where lost files come back from: give --mend with it.\n")
        return 2
    settled = finish_restore(find_home().folder)
    if settled is not None:
        sys.stderr.write(f"{RESTORE_WORDS[settled]}\n")
    with opened(args) as catalog:
        where = str(catalog.home.folder)
        if args.mend:
            backup = None if args.source is None else Path(args.source)
            done = mend(catalog, backup=backup, read_photos=not args.quick)
        else:
            found = find_problems(catalog, read_photos=not args.quick)
            done = Mending(found, found, None)
    if args.json:
        write_json(
            {
                "catalogue": where,
                "whole": not done.left,
                "problems": [_record(problem, problem in done.left) for problem in done.found],
                "aside": None if done.aside is None else str(done.aside),
            }
        )
    else:
        _tell(done.found, done.left)
    if done.aside is not None:
        sys.stderr.write(f"Files put aside are in {done.aside}; nothing was deleted.\n")
    return 1 if done.left else 0


def _record(problem: Problem, left: bool) -> dict[str, Any]:
    sentence, step = problem_words(problem)
    return {
        "kind": problem.kind,
        "what": problem.what,
        "mended": not left,
        "sentence": sentence,
        "next_step": step,
    }


def _tell(found: tuple[Problem, ...], left: tuple[Problem, ...]) -> None:
    for problem in found:
        sentence, step = problem_words(problem)
        state = f"{step}." if problem in left else "Mended."
        sys.stdout.write(f"{sentence}. {state}\n")
    if not left:
        sys.stdout.write("The catalogue is whole.\n")


def backup(args: argparse.Namespace) -> int:
    """Back the catalogue up; the copies kept are the result. 1 where a file was lost before."""
    from catalog.backup import back_up
    from catalog.backup_places import note_place

    with opened(args) as catalog:
        told = progress_told("copying")
        done = back_up(catalog, Path(args.folder), keep=args.keep, read_all=not args.quick, progress=told)
        note_place(catalog.home, Path(args.folder))
    if args.json:
        write_json(
            {
                "copy": done.copy.name,
                "copied": done.copied,
                "there_already": done.there,
                "kept": [_copy_record(copy) for copy in done.kept],
                "dropped": list(done.dropped),
                "lost": list(done.lost),
            }
        )
    else:
        sys.stderr.write(f"{done.copied} photos and files copied, {done.there} were there already\n")
        _list_copies(done.kept)
    if done.same_disk:
        sys.stderr.write(f"{SAME_DISK_WORDS}\n")
    for name in done.dropped:
        sys.stderr.write(f"let go: {name}\n")
    for name in done.lost:
        sys.stderr.write(f"not in the catalogue's folder, so not backed up: {name}\n")
    return 1 if done.lost else 0


def restore(args: argparse.Namespace) -> int:
    """Put a catalogue back, or list a backup's copies."""
    from catalog.backup import backup_copies
    from catalog.home import find_home
    from catalog.restore import restore as put_back

    if args.only_list:
        _list_copies(backup_copies(Path(args.folder)))
        return 0
    home = find_home()
    done = put_back(
        Path(args.folder),
        home,
        name=args.copy,
        move_present=args.set_aside,
        progress=progress_told("putting back"),
    )
    if done.set_aside is not None:
        sys.stderr.write(f"the catalogue that was there is kept as {done.set_aside}\n")
    for name in done.lost:
        sys.stderr.write(f"not whole in the backup, so not put back: {name}\n")
    sys.stdout.write(f"{done.copy.pieces} pieces and {done.files} files are in {home.folder}\n")
    return 1 if done.lost else 0


_TOLD_EVERY = 100


def progress_told(word: str) -> Callable[[int, int], None]:
    """Give a function that says on standard error how far a long step is, now and then."""

    def told(done: int, total: int) -> None:
        if done and done % _TOLD_EVERY == 0:
            sys.stderr.write(f"{word} {done} of {total}\n")

    return told


def _copy_record(copy: BackupCopy) -> dict[str, Any]:
    files = sum(len(names) for names in copy.files.values())
    return {"name": copy.name, "made_at": copy.made_at, "pieces": copy.pieces, "files": files}


def _list_copies(copies: Sequence[BackupCopy]) -> None:
    for copy in copies:
        files = sum(len(names) for names in copy.files.values())
        sys.stdout.write(f"{copy.name}\t{copy.pieces} pieces\t{files} files\n")
