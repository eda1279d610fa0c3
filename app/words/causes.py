"""Words of the Why view: where facts come from, what came out of a trial, what groups are called."""

from __future__ import annotations

__all__ = [
    "ORIGINS",
    "OUTCOME_WORDS",
    "PLACE_WORDS",
    "REGION_WORDS",
    "TRAITS",
    "VERDICT_WORDS",
    "WARE_WORDS",
    "clause",
    "sentence",
]

ORIGINS = {
    "measured": "measured on the photo",
    "computed": "worked out from recipe or schedule",
    "recorded": "from your records",
    "answered": "you said so",
    "inferred": "follows from the rest",
}

OUTCOME_WORDS = {
    "points_to": "It pointed to this cause",
    "points_away": "It pointed away from this cause",
    "unclear": "It did not tell",
    None: "Waiting for its pieces",
}

VERDICT_WORDS = {"confirmed": "this was it", "refuted": "ruled out", "fix_worked": "the fix worked"}

PLACE_WORDS = {
    "inside": "inside",
    "rim": "rim",
    "outside": "outside",
    "foot": "foot",
    "unknown": "not said",
}

WARE_WORDS = {
    "flat": "flat ware",
    "hollow": "hollow ware",
    "small_hollow": "small hollow ware",
    "large_hollow": "large hollow ware",
    "cup": "cup or mug",
    "pitcher": "jug",
    "storage": "storage jar",
    "cooking": "cooking ware",
}

REGION_WORDS = {
    "eu": "European Union",
    "us": "United States",
    "california": "California",
    "iso": "ISO standard",
}

TRAITS = {
    "glaze": "Glaze",
    "clay": "Clay",
    "shelf": "Shelf",
    "bucket": "Bucket",
    "clay lot": "Lot of clay",
    "layers": "Layers",
}


def sentence(words: str) -> str:
    """Give words as one sentence with a capital and a full stop."""
    trimmed = words.strip().rstrip(".")
    return f"{trimmed[:1].upper()}{trimmed[1:]}."


def clause(words: str) -> str:
    """Give words as the middle of a sentence."""
    return words if words[:2].isupper() else f"{words[:1].lower()}{words[1:]}"
