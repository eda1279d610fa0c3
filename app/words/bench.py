"""Words of the Bench: stages, losses, what to look at before loading, what is usual practice."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from app.words.choices import length, number
from catalog.bench.warnings import FOOT_GAP_MM

if TYPE_CHECKING:
    from catalog.bench.records import Bucket, Glazing, GlazingLayer
    from catalog.bench.warnings import LoadWarning

__all__ = [
    "BUCKET_KIND_WORDS",
    "LOSS_WORDS",
    "METHOD_WORDS",
    "PRACTICE",
    "STAGE_WORDS",
    "bucket_words",
    "coat_words",
    "glazing_words",
    "gravity_words",
    "layer_practice",
    "pieces_words",
    "said_words",
    "warning_words",
]

STAGE_WORDS = {
    "made": "made",
    "drying": "drying",
    "bone_dry": "bone dry",
    "bisqued": "bisqued",
    "glazed": "glazed",
    "fired": "fired",
    "out": "out of the kiln",
}

LOSS_WORDS = {
    "cracked": "cracked",
    "broken": "knocked or dropped",
    "warped": "warped",
    "burst": "burst in the kiln",
    "glaze": "spoilt by the glaze",
    "stuck": "stuck to shelf or neighbour",
    "other": "something else",
}

BUCKET_KIND_WORDS = {"glaze": "glaze", "underglaze": "underglaze colour", "slip": "slip"}

METHOD_WORDS = {"dip": "dipped", "pour": "poured", "brush": "brushed", "spray": "sprayed"}

PRACTICE = "Common practice, no source."

_COLOUR_COATS = 3
_BRUSHED_COATS = 2


def pieces_words(count: int) -> str:
    """Give a number of pieces in words."""
    return "1 piece" if count == 1 else f"{count} pieces"


def gravity_words(gravity: float | None) -> str:
    """Give a gravity as the potter weighs it."""
    if gravity is None:
        return "not weighed"
    return f"gravity {number(gravity, 2)}, 100 ml weigh {number(100 * gravity)} g"


def bucket_words(bucket: Bucket) -> str:
    """Give a bucket in one line."""
    kind = "" if bucket.kind == "glaze" else f", {BUCKET_KIND_WORDS[bucket.kind]}"
    weighed = "" if bucket.gravity is None else f", {number(bucket.gravity, 2)}"
    return f"{bucket.code} · {bucket.name}{kind}{weighed}"


def coat_words(layer: GlazingLayer) -> str:
    """Give one layer as it was put on."""
    parts = [layer.name]
    if layer.method is not None:
        parts.append(METHOD_WORDS[layer.method])
    if layer.seconds is not None:
        parts.append(f"{number(layer.seconds, 0 if layer.seconds == round(layer.seconds) else 1)} s")
    if layer.coats is not None:
        parts.append("1 coat" if layer.coats == 1 else f"{layer.coats} coats")
    return ", ".join(parts)


def glazing_words(glazed: Glazing) -> str:
    """Give what pieces were covered with, from the clay outward."""
    return "; over it ".join(coat_words(layer) for layer in glazed.layers)


def said_words(glazed: Glazing) -> str:
    """Give what was said of wiping, overlap and standing, in one line."""
    said = []
    for value, yes, no in (
        (glazed.foot_wiped, "foot wiped", "foot not wiped"),
        (glazed.bisque_wiped, "bisque wiped before", "bisque not wiped"),
        (glazed.overlap, "layers overlap", ""),
        (glazed.catch, "on a catch plate", ""),
        (glazed.touches, "glazed where pieces touch", ""),
    ):
        word = yes if value else no
        if value is not None and word:
            said.append(word)
    if glazed.foot_gap_mm is not None:
        said.append(f"{length(glazed.foot_gap_mm, 0)} bare above the foot")
    return ", ".join(said)


def layer_practice(kind: str, method: str | None, coats: int | None) -> str | None:
    """Say what is usual for a layer where what is given is less; None where it is not."""
    if kind == "underglaze" and (coats is None or coats < _COLOUR_COATS):
        return "An opaque underglaze colour usually takes three coats, each dry before the next."
    if kind == "glaze" and method == "brush" and (coats is None or coats < _BRUSHED_COATS):
        return "A brushed glaze usually takes several full coats, each touch-dry before the next."
    return None


def _cone_range(low: str, high: str) -> str:
    return f"cone {low}" if low == high else f"cone {low} to {high}"


def warning_words(warning: LoadWarning) -> tuple[str, str]:
    """Give what is so and what to do, for one thing to look at before loading; its pieces stand beside."""
    match warning.kind:
        case "cones":
            apart = number(abs(warning.apart), 0 if warning.apart == round(warning.apart) else 1)
            hotter = "the glaze wants more heat than the clay bears"
            told = hotter if warning.apart > 0 else "the clay wants more heat than the glaze bears"
            clay = f"{warning.clay} (cone {warning.clay_cone})"
            return (
                f"{warning.glaze} ({_cone_range(warning.glaze_low, warning.glaze_high)}) and "
                f"{clay} are {apart} cones apart: {told}.",
                "Take another clay or glaze, or fire a tile of the two first.",
            )
        case "running":
            return _running(warning)
        case _:
            return _contact(warning.why)


def _running(warning: LoadWarning) -> tuple[str, str]:
    runs = warning.runs
    told = []
    if runs is not None and runs.ran:
        told.append(f"ran on {runs.ran} of the {pieces_words(max(runs.seen, runs.ran))} looked at")
    if runs is not None and runs.said_fluid:
        told.append("is kept as a fluid melt")
    return (
        f"{warning.glaze} {' and '.join(told)}, and nothing here will stop it.",
        f"Set them on catch plates, or wipe {length(FOOT_GAP_MM, 0)} or more bare above the foot.",
    )


def _contact(why: Sequence[str]) -> tuple[str, str]:
    if tuple(why) == ("foot",):
        return (
            "The foot was not wiped: glaze there grows to the shelf.",
            "Wipe all that stands on the shelf bare.",
        )
    if tuple(why) == ("touches",):
        return ("Glaze where pieces touch: they grow together.", "Wipe those places bare, or set them apart.")
    return (
        "The foot was not wiped, and there is glaze where pieces touch.",
        "Wipe both bare, or the pieces grow to the shelf and to each other.",
    )
