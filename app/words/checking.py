"""What `glostbook check` says of each thing that can be wrong: what it is, and what to do."""

from __future__ import annotations

from catalog.checkup import Problem

__all__ = ["RESTORE_WORDS", "SAME_DISK_WORDS", "problem_words"]

RESTORE_WORDS = {
    "finished": "A restore had been cut off once the catalogue there was moved aside. It is finished now.",
    "dropped": "A restore had been cut off before it changed anything. Its copies are let go; run it again.",
}

SAME_DISK_WORDS = (
    "This folder is on the catalogue's own disk: if the disk fails, both are gone. Use another drive as well."
)

_AGAIN = "Put it back with check --mend --from BACKUP"
_WORDS = {
    "database": (
        "the database is damaged ({what})",
        "check --mend makes its indices anew; if that is not enough, glostbook restore a backup",
    ),
    "reference": ("a record points at one that is gone ({what})", "glostbook restore a backup"),
    "clock": (
        "something is dated {what}, later than this computer's clock",
        "Set the clock right. Nothing is lost: words count in the order they were said",
    ),
    "missing photo": ("photo {what} is not in its folder", f"{_AGAIN}, or file the same photo again"),
    "damaged photo": ("photo {what} has changed since it was filed", f"{_AGAIN}, or file it again"),
    "unknown photo": ("a photo that no record names: {what}", "check --mend puts it aside"),
    "missing view": ("picture {what} of a piece is not in its folder", f"{_AGAIN}, or read its photo again"),
    "damaged view": ("picture {what} of a piece has changed", f"{_AGAIN}, or read its photo again"),
    "unknown view": ("a picture that no record names: {what}", "check --mend puts it aside"),
    "missing log": ("kiln log {what} is not in its folder", f"{_AGAIN}, or give the load its log again"),
    "damaged log": ("kiln log {what} has changed since it was kept", f"{_AGAIN}, or give it again"),
    "unknown log": ("a kiln log that no load names: {what}", "check --mend puts it aside"),
    "unfinished file": ("a file whose writing was cut short: {what}", "check --mend puts it aside"),
}


def problem_words(problem: Problem) -> tuple[str, str]:
    """Give what is wrong, and what to do about it."""
    sentence, step = _WORDS[problem.kind]
    return sentence.format(what=problem.what), step
