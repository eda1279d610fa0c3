"""What the Unload view says: how far the reading is, what was taken in, what was filed."""

from __future__ import annotations

from collections.abc import Sequence

from app.words.choices import day_words, length
from catalog.unloading.records import Told, Unloading, UnloadingState

__all__ = [
    "FILED_PAIR_HELP",
    "PAIR_HELP",
    "STATE_WORDS",
    "STRIPE_HELP",
    "count_words",
    "file_button_words",
    "filed_pair_words",
    "filed_words",
    "left_out_words",
    "left_words",
    "load_guess_words",
    "pair_proposal_words",
    "paired_words",
    "place_words",
    "progress_words",
    "resumed_words",
    "second_words",
    "taken_words",
    "told_words",
    "troubled_words",
    "undone_words",
    "unloading_words",
    "unsure_words",
]

STATE_WORDS = {
    "waiting": "in line",
    "in_hand": "being read",
    "read": "read",
    "failed": "not read",
    "filed": "filed",
    "left_out": "left out",
}

_MOST_CODES = 8


def count_words(count: int, one: str) -> str:
    """Give a count with its noun, such as "1 photo" or "3 photos"."""
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def left_words(state: UnloadingState) -> str:
    """Say how long reading the rest takes; empty before the first photo is read."""
    if state.seconds_each is None or not state.to_read:
        return ""
    seconds = state.seconds_each * state.to_read
    return f"about {seconds:.0f} s left" if seconds < 90 else f"about {seconds / 60:.0f} min left"


def progress_words(state: UnloadingState) -> tuple[float, str]:
    """Give the part of the photos that is done, 0..1, and how far the reading is."""
    done = state.total - state.to_read
    left = left_words(state)
    words = f"{done} of {count_words(state.total, 'photo')} read"
    return done / max(1, state.total), f"{words}, {left}" if left else words


def taken_words(new: int, known: int) -> str:
    """Say what became of photos given."""
    parts = []
    if new:
        parts.append(f"{count_words(new, 'photo')} kept.")
    if known:
        parts.append(f"{count_words(known, 'photo')} had been given before; nothing was added for them.")
    return " ".join(parts)


def filed_words(added: Sequence[str], extended: Sequence[str], repeated: Sequence[str]) -> str:
    """Say what filing did."""
    parts = []
    if added:
        parts.append(f"Filed {_listed(added)}.")
    if extended:
        parts.append(f"Added a reading to {_listed(extended)}.")
    if repeated:
        parts.append(f"Filed from this photo before, nothing added: {_listed(repeated)}.")
    return " ".join(parts)


def _listed(codes: Sequence[str]) -> str:
    return f"{count_words(len(codes), 'piece')}: {_few(codes)}"


def _few(codes: Sequence[str]) -> str:
    shown = ", ".join(codes[:_MOST_CODES])
    more = len(codes) - _MOST_CODES
    return shown + (f" and {more} more" if more > 0 else "")


def load_guess_words(*, by_labels: bool) -> str:
    """Say where the guess of the load comes from."""
    if by_labels:
        return "The labels in the photos say so."
    return "Taken because it is the newest; choose another if these came from elsewhere."


def resumed_words(unloading: Unloading, state: UnloadingState) -> str:
    """Say what is gone on with."""
    open_ones = state.total - state.counts.get("filed", 0)
    return (
        f"Going on with the unloading begun on {day_words(unloading.made_at.date())}: "
        f"{count_words(open_ones, 'photo')} not filed yet."
    )


def undone_words(pieces: int) -> str:
    """Say what an undo did."""
    return f"Undone: {count_words(pieces, 'piece')} as before, the photos wait here again."


def left_out_words(photos: int) -> str:
    """Say how many photos are left out."""
    return f"{count_words(photos, 'photo')} left out"


def unloading_words(unloading: Unloading, state: UnloadingState, load: str | None) -> str:
    """Name an unloading by its day, its load and how far it is."""
    parts = [day_words(unloading.made_at.date()), *([load] if load else [])]
    filed = state.counts.get("filed", 0)
    parts.append(f"{filed} of {count_words(state.total, 'photo')} filed")
    return " · ".join(parts)


STRIPE_HELP = (
    "The part of a dark stripe that glaze lies over, whole or in part: the glaze over it is compared with "
    "the glaze beside it. It tells how well the glaze hides."
)


def place_words(index: int) -> str:
    """Name what a drawn outline stands for; -1 is a piece that was not found, -2 a stripe."""
    if index == -2:
        return "the dark stripe under the glaze"
    return "a piece that was not found" if index < 0 else f"piece {index + 1}"


def told_words(told: Told) -> list[str]:
    """Give what a person told of a photo before it is read."""
    found = []
    if told.thickness_mm is not None:
        found.append(f"Read for tiles {length(told.thickness_mm)} thick.")
    if told.stripes:
        found.append("The dark stripe is the one you marked.")
    return found


PAIR_HELP = (
    "Pieces and phone unmoved, the lamp on the left for one photo, on the right for the other. A blister is "
    "then bright on the lamp's side, a hole on the far one, a speck on neither, and glints that move are "
    "taken off the colour."
)


def pair_proposal_words(first: int, second: int) -> str:
    """Ask whether two photos, by their numbers, are a pair."""
    return (
        f"Photos {first} and {second} show the same pieces in the same places, lit from two sides. "
        "Shall they be read as one?"
    )


FILED_PAIR_HELP = (
    "Read together, both photos make one reading, which takes the place of the filed one; that one is kept. "
    "Filed by itself, the photo adds a reading of its own, or a new piece where it bears no label."
)


def filed_pair_words(name: str, first: str, codes: Sequence[str]) -> str:
    """Say of which filed photo this one is likely the second."""
    return (
        f"{name} shows the same pieces in the same places as {first}, which is filed as {_few(codes)}, "
        "lit from the other side."
    )


def paired_words(first: str, codes: Sequence[str]) -> str:
    """Say what reading a photo together with a filed one did."""
    return f"Read as one with {first}. Added a reading to {_listed(codes)}; the one before is kept."


def second_words(name: str) -> str:
    """Say which photo this one is read with."""
    return f"Read as one with {name}: the same pieces, the lamp on the other side."


def file_button_words(pieces: int, *, all_read: bool) -> str:
    """Name the button that files; while photos are still read it files those with all their codes."""
    if not all_read:
        return f"File {count_words(pieces, 'labelled piece')} now"
    if not pieces:
        return "File what is ticked"
    return "File 1 piece" if pieces == 1 else f"File all {pieces} pieces"


def unsure_words(pieces: Sequence[tuple[int, int]]) -> str:
    """Say which pieces are not ticked, each by its photo's number and its own."""
    named = ", ".join(f"photo {photo} piece {piece}" for photo, piece in pieces)
    return (
        f"Not ticked: {named}. The frame cuts it, and it may be no piece at all. "
        "Tick it if it is one, better take it again whole."
    )


def troubled_words(photos: int) -> str:
    """Say that photos stayed behind."""
    return (
        f"{count_words(photos, 'photo')} could not be filed; the reason stands beside it." if photos else ""
    )
