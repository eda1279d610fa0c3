"""What the screens and commands say of packages: what one carries, what one would bring."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from catalog.exchange.export import ExportReport
    from catalog.exchange.merge_report import Counts, MergeNote, MergeReport

__all__ = ["carried_words", "import_note_words", "import_words", "thing_words"]

_THINGS = {
    "piece": ("piece", "pieces"),
    "reading": ("reading", "readings"),
    "photo": ("photo", "photos"),
    "judgement": ("word on a piece", "words on pieces"),
    "answer": ("answer", "answers"),
    "outcome": ("word on a cause", "words on causes"),
    "trial": ("trial", "trials"),
    "leach_result": ("laboratory figure", "laboratory figures"),
    "recipe": ("glaze recipe", "glaze recipes"),
    "body": ("clay", "clays"),
    "load": ("firing", "firings"),
    "load_log": ("kiln log", "kiln logs"),
    "material": ("own material", "own materials"),
    "body_measure": ("measure of a clay", "measures of clays"),
    "piece_holder": ("holder of a piece", "holders of pieces"),
}
"""Tables that a person would ask about; the others are parts of these."""

_PRIVATE = {
    "place": "the place it was taken (GPS)",
    "serial": "a serial number of camera or lens",
    "name": "a person's name",
    "maker": "notes of the phone's maker",
}


def thing_words(table: str, count: int) -> str:
    """Give a count of things in words, such as "3 pieces"."""
    one, many = _THINGS.get(table, (table.replace("_", " "), f"rows of {table.replace('_', ' ')}"))
    return f"{count} {one if count == 1 else many}"


def carried_words(report: ExportReport, ask: str = "Add --originals") -> tuple[str, ...]:
    """Say what of private things a package carries, or what was left out of it and how to `ask` for it."""
    lines = []
    for part, count in report.private.items():
        photos = "1 photo holds" if count == 1 else f"{count} photos hold"
        lines.append(f"{photos} {_PRIVATE[part]}")
    if report.holders:
        lines.append(f"{thing_words('piece_holder', report.holders)} named")
    if not lines:
        return ()
    said = "; ".join(lines)
    if report.originals:
        return (f"This package carries it all: {said}. Give it only to people who may know that.",)
    return (f"Left out of the package: {said}. {ask} to take it along.",)


def import_words(report: MergeReport, *, done: bool) -> tuple[str, ...]:
    """Say what a package brings: what is new, what was known, where the word here stands."""
    new = [thing_words(table, c.added) for table, c in _told(report) if c.added]
    known = [thing_words(table, c.known) for table, c in _told(report) if c.known]
    ours = sum(count.ours for count in report.counts.values())
    verb = "Brought in" if done else "It would bring"
    lines = [f"{verb}: {', '.join(new)}." if new else "It brings nothing new."]
    if known:
        lines.append(f"Here already: {', '.join(known)}.")
    if ours:
        lines.append(f"Other than here, so what stands here stays: {ours}.")
    return tuple(lines)


def _told(report: MergeReport) -> list[tuple[str, Counts]]:
    return [(table, report.counts[table]) for table in _THINGS if table in report.counts]


def import_note_words(note: MergeNote) -> str:
    """Say one thing that a person should know before taking a package."""
    one = _THINGS.get(note.table, (note.table.replace("_", " "), ""))[0]
    if note.kind == "renamed":
        return f"Another {one} here is called {note.what}; this one comes in as {note.told}."
    return f"{one.capitalize()} {note.what}: the package says something else; what is here stays.".replace(
        " :", ":"
    )
