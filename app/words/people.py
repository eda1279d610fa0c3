"""Words about people: what each role may do, signing in, and the errors of both."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.words.advice import Advice
from catalog.people.errors import (
    CannotTakeBackError,
    LastKeeperError,
    NotAllowedError,
    PersonNotFoundError,
    SignedOutError,
    TooManyTriesError,
    WrongSignInError,
)
from catalog.people.records import Person
from catalog.people.rights import Permission

__all__ = [
    "NO_KEEPER",
    "PEOPLE_ERRORS",
    "READERS_LOOK",
    "ROLE_WORDS",
    "person_words",
    "thing_words",
    "unknown_at_service",
    "who_may_words",
]

ROLE_WORDS = {
    "keeper": "looks after the catalogue: may change everything, and who may do what",
    "member": "files new pieces, and changes their own",
    "reader": "looks, and changes nothing",
}

NO_KEEPER = Advice(
    "Others can reach this address, and nobody is set to keep the catalogue yet, so nothing is shown here.",
    "On the computer that holds the catalogue, type: glostbook people add NAME --role keeper. "
    "To work alone on this computer, open the app with: glostbook open.",
)


def person_words(person: Person) -> str:
    """Say what somebody may do here and how they sign in."""
    ways = ["passphrase"] if person.has_passphrase else []
    ways += [f"sign-in service as {person.email}"] if person.email else []
    how = f"by {' or '.join(ways)}" if ways else "not able to sign in yet"
    return f"{person.role}; {how}"


def unknown_at_service(email: str) -> Advice:
    """Say that a sign-in service vouches for somebody who is not among the people."""
    return Advice(
        f"{email or 'This account'} is not among the people of this catalogue.",
        f"Ask its keeper for: glostbook people add NAME --role member --email {email or 'ADDRESS'}",
    )


def _wait_words(seconds: float) -> str:
    if seconds < 90:
        return f"{max(round(seconds), 1)} seconds"
    return f"{round(seconds / 60)} minutes"


def _too_many(error: Any) -> Advice:
    if error.wait_s is None:
        return Advice(
            "Too many wrong passphrases were given for this name.",
            "A keeper must set a new one: glostbook people passphrase NAME.",
        )
    return Advice("Too many tries.", f"Wait {_wait_words(error.wait_s)}, then try again.")


_THINGS = {
    "piece": "piece",
    "load": "load",
    "body": "clay",
    "recipe": "glaze",
    "material": "material",
    "bucket": "bucket",
    "glazing": "glazing of",
    "person": "person",
}
_STUDIO = {
    "setting": "how the studio works",
    "card_teaching": "the card's taught colours",
    "glaze_effect": "what a glaze is meant to do",
}


def thing_words(table: str, label: str) -> str:
    """Give what a person calls a thing of the catalogue."""
    if table in _STUDIO:
        return _STUDIO[table]
    return f"{_THINGS.get(table, table.replace('_', ' '))} {label}".rstrip()


READERS_LOOK = "You are here as a reader: you look at everything; keepers and members add and change."


def who_may_words(found: Permission, thing: str) -> str:
    """Say who may change a thing, such as "this load", to somebody who may not."""
    if found.is_reader:
        return READERS_LOOK
    if found.owner is None:
        return f"Only a keeper may change {thing}."
    return f"Only {found.owner} or a keeper may change {thing}."


def _not_allowed(error: Any) -> Advice:
    whose = f" It is {error.owner}'s." if error.owner else ""
    thing = thing_words(error.table, error.label)
    if error.role == "reader":
        return Advice(f"{error.name} is a reader here, and readers change nothing.", "Ask a keeper for more.")
    asked = f"Ask {error.owner} or a keeper." if error.owner else "Ask a keeper."
    return Advice(f"{error.name} may not change {thing}.{whose}", f"Nothing was changed. {asked}")


_BACK = {
    "unknown": "there is no such change",
    "back already": "it was taken back already",
    "too much": "it changed too much at once to be kept row by row",
    "people": "people are changed where they are listed",
    "not kept": "what was there before was not kept: it may name a person, or is read again from its photo",
    "newer": "something newer rests on it",
    "in use": "something else uses it by now",
}


def _back_words(error: Any) -> str:
    words = _BACK.get(error.reason, error.reason)
    label = f" ({error.label})" if error.label else ""
    by = "" if error.by is None else f", change {error.by}"
    return f"{words}{by}{label}"


PEOPLE_ERRORS: dict[type[BaseException], Callable[[Any], Advice]] = {
    PersonNotFoundError: lambda error: Advice(
        f"Nobody here is named {error.name}.",
        f"There is {', '.join(error.known)}." if error.known else "Add them: glostbook people add NAME.",
    ),
    LastKeeperError: lambda error: Advice(
        f"A catalogue with people needs a keeper, and it would have none: {error.name}.",
        "Make somebody a keeper first: glostbook people add NAME --role keeper.",
    ),
    WrongSignInError: lambda error: Advice(
        "Name and passphrase do not belong together.", "Try again; a keeper can set a new passphrase."
    ),
    TooManyTriesError: _too_many,
    SignedOutError: lambda error: Advice(
        "You are not signed in any more.", "Load this page again and sign in."
    ),
    NotAllowedError: _not_allowed,
    CannotTakeBackError: lambda error: Advice(
        f"Change {error.number} cannot be taken back: {_back_words(error)}.", "Nothing was changed."
    ),
}
