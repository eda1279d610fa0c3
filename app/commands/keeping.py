"""Commands that keep a catalogue whole: look it over and mend it."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.commands.asking import write_json
from app.words.checking import problem_words

if TYPE_CHECKING:
    from catalog.checkup import Problem

__all__ = ["check"]


def check(args: argparse.Namespace) -> int:
    """Look the catalogue over, mend it where asked; 1 where something is left wrong."""
    from catalog.checkup import find_problems
    from catalog.mending import Mending, mend
    from catalog.store import Catalog

    with Catalog.open() as catalog:
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
