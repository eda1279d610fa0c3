"""Commands about the people of a catalogue. A passphrase is asked for, never taken from the command line."""

from __future__ import annotations

import argparse
import sys
from getpass import getpass
from typing import TYPE_CHECKING

from app.commands.asking import write_json
from app.commands.opening import opened

if TYPE_CHECKING:
    from catalog.people.records import Person

__all__ = ["add", "leave", "listed", "passphrase", "role"]


def listed(args: argparse.Namespace) -> int:
    """List the people and their roles."""
    with opened(args) as catalog:
        people = catalog.people.list(left_too=args.left)
    if args.json:
        write_json([_record(person) for person in people])
        return 0
    for person in people:
        left = "" if person.left_at is None else f"\tleft {person.left_at:%Y-%m-%d}"
        sys.stdout.write(f"{person.name}\t{person.role}{left}\n")
    if not people:
        sys.stderr.write(
            "Nobody yet: the catalogue asks nobody who they are. The first person is the keeper.\n"
        )
    return 0


def add(args: argparse.Namespace) -> int:
    """Add somebody, or bring back one who left."""
    with opened(args) as catalog:
        words = None if args.email else _asked(args.name)
        person = catalog.people.add(args.name, args.role, passphrase=words, email=args.email)
    return _told(person)


def role(args: argparse.Namespace) -> int:
    """Change somebody's role."""
    with opened(args) as catalog:
        return _told(catalog.people.set_role(args.name, args.role))


def passphrase(args: argparse.Namespace) -> int:
    """Give somebody a new passphrase."""
    with opened(args) as catalog:
        person = catalog.people.named(args.name)
        return _told(catalog.people.set_passphrase(person.name, _asked(person.name)))


def leave(args: argparse.Namespace) -> int:
    """Let somebody go."""
    with opened(args) as catalog:
        person = catalog.people.leave(args.name)
    sys.stdout.write(f"{person.name}\tleft\n")
    return 0


def _asked(name: str) -> str:
    """Ask for a passphrase twice at a terminal; elsewhere take the first line of standard input."""
    from catalog.errors import InvalidRecordError
    from catalog.people.passphrase import checked_passphrase

    if not sys.stdin.isatty():
        return checked_passphrase(sys.stdin.readline().rstrip("\r\n"), name)
    words = checked_passphrase(getpass(f"Passphrase for {name} (15 characters or more): "), name)
    if getpass("The same again: ") != words:
        raise InvalidRecordError("passphrase", "two that differ", "the same passphrase twice")
    return words


def _told(person: Person) -> int:
    sys.stdout.write(f"{person.name}\t{person.role}\n")
    return 0


def _record(person: Person) -> dict[str, str | None]:
    return {
        "name": person.name,
        "role": person.role,
        "email": person.email,
        "since": person.created_at.isoformat(),
        "left": None if person.left_at is None else person.left_at.isoformat(),
    }
