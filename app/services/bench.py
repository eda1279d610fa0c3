"""The Bench for the screen and the command line: labels in a photo, warnings gathered, rows of tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from app.sheets.labels import Label
from app.words.bench import (
    BUCKET_KIND_WORDS,
    LOSS_WORDS,
    STAGE_WORDS,
    glazing_words,
    gravity_words,
    pieces_words,
    said_words,
    warning_words,
)
from app.words.choices import day_words, number
from catalog.bench.codes import codes_in_short
from catalog.bench.records import STAGES, Bucket, Glazing, Progress
from catalog.bench.warnings import LoadWarning
from catalog.records import Load, Piece
from catalog.store import Catalog

__all__ = [
    "WarningLine",
    "bucket_rows",
    "glazing_rows",
    "history_rows",
    "kept_bucket_label",
    "labels_in_photo",
    "last_body",
    "open_loads",
    "put_in_load",
    "stage_rows",
    "waiting_codes",
    "warning_lines",
]


@dataclass(frozen=True, slots=True)
class WarningLine:
    """One warning with all the pieces it is about."""

    kind: str
    sentence: str
    next_step: str
    codes: tuple[str, ...]

    def __str__(self) -> str:
        return f"{codes_in_short(self.codes)}: {self.sentence} {self.next_step}"


def warning_lines(warnings: Iterable[LoadWarning]) -> tuple[WarningLine, ...]:
    """Gather warnings that say the same of several pieces."""
    found: dict[LoadWarning, list[str]] = {}
    for each in warnings:
        glaze = "" if each.kind == "contact" else each.glaze
        found.setdefault(replace(each, code="", glaze=glaze), []).append(each.code)
    return tuple(
        WarningLine(alike.kind, *warning_words(alike), tuple(codes)) for alike, codes in found.items()
    )


def labels_in_photo(data: bytes, name: str) -> tuple[str, ...]:
    """Give the texts of the labels in a photo, from top to bottom. Raises the errors of `vision`."""
    from vision.labels import find_labels
    from vision.photo import decode_photo
    from vision.settings import LabelSettings

    found = find_labels(decode_photo(data, name).pixels, LabelSettings())
    return tuple(label.text for label in sorted(found, key=lambda label: float(label.corners_px[:, 1].min())))


def kept_bucket_label(bucket: Bucket) -> Label:
    """Give the label of a bucket that is kept: its code, glaze, gravity and day."""
    lines = [bucket.name]
    if bucket.kind != "glaze":
        lines.append(BUCKET_KIND_WORDS[bucket.kind])
    if bucket.mixed_on is not None:
        lines.append(f"mixed {day_words(bucket.mixed_on)}")
    if bucket.gravity is not None:
        lines.append(f"gravity {number(bucket.gravity, 2)}")
    return Label(bucket.code, tuple(lines))


def bucket_rows(buckets: Sequence[Bucket]) -> list[dict[str, str]]:
    """Give buckets for a table."""
    return [
        {
            "Bucket": bucket.code,
            "Glaze or colour": bucket.name,
            "Gravity": "not weighed" if bucket.gravity is None else number(bucket.gravity, 2),
            "Kind": BUCKET_KIND_WORDS[bucket.kind],
            "Weighed on": "" if bucket.measured_on is None else day_words(bucket.measured_on),
            "Mixed on": "not said" if bucket.mixed_on is None else day_words(bucket.mixed_on),
        }
        for bucket in buckets
    ]


def glazing_rows(glazings: Sequence[Glazing]) -> list[dict[str, str]]:
    """Give what was glazed lately for a table."""
    wiped = {True: "yes", False: "no", None: "not said"}
    return [
        {
            "Glazed on": day_words(each.glazed_on),
            "Pieces": pieces_words(len(each.codes)),
            "With": glazing_words(each),
            "Codes": codes_in_short(each.codes),
            "Foot wiped": wiped[each.foot_wiped],
        }
        for each in glazings
        if each.codes
    ]


def stage_rows(progress: Iterable[Progress]) -> list[tuple[str, tuple[str, ...]]]:
    """Give the codes at each stage that has any, lost pieces left out."""
    at: dict[str, list[str]] = {stage: [] for stage in STAGES}
    for each in progress:
        if each.stage is not None and each.loss is None:
            at[each.stage].append(each.code)
    return [(STAGE_WORDS[stage], tuple(sorted(codes))) for stage, codes in at.items() if codes]


def last_body(catalog: Catalog, last: Glazing | None) -> int | None:
    """Give the clay of the pieces glazed last, None where it is not said."""
    if last is None or not last.codes:
        return None
    body = catalog.piece(last.codes[0]).body
    return None if body is None else body.id


def waiting_codes(catalog: Catalog) -> tuple[str, ...]:
    """Give the codes of pieces that are bisqued and not lost: they wait to be glazed."""
    said = catalog.bench.progress().values()
    return tuple(sorted(each.code for each in said if each.stage == "bisqued" and each.loss is None))


def open_loads(catalog: Catalog, today: date) -> dict[int, Load]:
    """Give the glaze loads that are still to be fired: no cone read, and not dated before today."""
    return {
        load.id: load
        for load in catalog.loads("glaze")
        if not load.cones and (load.fired_on is None or load.fired_on >= today)
    }


def put_in_load(catalog: Catalog, codes: Sequence[str], load_id: int | None) -> None:
    """Put pieces into a load; None takes them out of theirs."""
    for code in codes:
        catalog.update_piece(code, load_id=load_id)


def history_rows(catalog: Catalog, piece: Piece) -> list[tuple[str, str]]:
    """Give what the Bench knows of a piece: glazings, stages, crack, loss."""
    rows = []
    for each in catalog.bench.glazings_of(piece.code):
        outer = each.layers[-1]
        source = "" if outer.bucket is None else f" From bucket {outer.bucket}"
        weighed = "" if outer.gravity is None or not source else f", {gravity_words(outer.gravity)}"
        said = said_words(each)
        told = f"{glazing_words(each)}.{source}{weighed}{'.' if source else ''}"
        told += f" {said[:1].upper()}{said[1:]}." if said else ""
        rows.append((f"Glazed {day_words(each.glazed_on)}", f"{told} {each.note}".strip()))
    known = catalog.bench.progress([piece.code]).get(piece.code)
    if known is None:
        return rows
    days = [f"{STAGE_WORDS[stage]} {day_words(known.days[stage])}" for stage in STAGES if stage in known.days]
    if days:
        rows.append(("Stages", "; ".join(days)))
    if known.crack is not None:
        rows.append(("Crack first seen", STAGE_WORDS[known.crack]))
    if known.loss is not None:
        why = LOSS_WORDS[known.loss.reason] + (f": {known.loss.note}" if known.loss.note else "")
        rows.append(("Lost", f"{STAGE_WORDS[known.loss.stage]}, {day_words(known.loss.on)}, {why}"))
    return rows
