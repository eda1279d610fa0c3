"""What was changed, by whom and when; and taking it back."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from app.commands.asking import write_json
from app.commands.opening import opened

if TYPE_CHECKING:
    from catalog.people.changes import Change

__all__ = ["changes"]


def changes(args: argparse.Namespace) -> int:
    """List changes, the newest first, or take one back."""
    from app.words.changes import change_words, who_words

    with opened(args) as catalog:
        if args.undo is not None:
            found: tuple[Change, ...] = (catalog.changes.take_back(args.undo),)
        else:
            found = catalog.changes.list(limit=args.limit, about=args.about, who=args.who)
    if args.json:
        write_json([_record(change) for change in found])
        return 0
    for change in found:
        when = change.made_at.astimezone().strftime("%Y-%m-%d %H:%M")
        sys.stdout.write(f"{change.number}\t{when}\t{who_words(change.who)}\t{change_words(change)}\n")
    if not found:
        sys.stderr.write("No change is noted.\n")
    return 0


def _record(change: Change) -> dict[str, Any]:
    found = {**asdict(change), "made_at": change.made_at.isoformat()}
    for row in found["rows"]:
        del row["called"]  # only for telling a number in words
    return found
