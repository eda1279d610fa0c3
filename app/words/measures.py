"""Numbers of a reading as a potter would say them. Only choice of words: nothing is worked out here."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence

from app.words.choices import day_words, length, number, percent
from vision.rating import RATING_STYLE, SIZE_MM, Rating
from vision.reading import (
    CalibrationKind,
    Crawling,
    Crazing,
    Finish,
    GlazeColour,
    Gloss,
    Lab,
    PlaneHeight,
    Running,
    Subject,
    Taught,
    TileReading,
)

__all__ = [
    "calibration_words",
    "colour_words",
    "crawling_words",
    "craze_direction_words",
    "crazing_words",
    "density_words",
    "difference_words",
    "doubt_words",
    "fault_noun",
    "fault_words",
    "finish_words",
    "height_words",
    "lab_words",
    "pair_words",
    "plural",
    "rating_words",
    "running_words",
    "subject_words",
    "taught_words",
    "without_keys",
]

_PLURALS = {"pinhole": "pinholes", "blister": "blisters", "crater": "craters", "speck": "specks"}
_SUBJECTS = {Subject.TILE: "tile", Subject.WARE: "piece of ware", Subject.PATCH: "close-up of glaze"}

_KEY = re.compile(r" \([a-z]+\.\w+\)")
_FAULTS = {
    "blister": "blisters",
    "bloat": "bloating",
    "colour_off": "wrong colour",
    "crack_making": "cracks from making",
    "crater": "craters",
    "crawl": "crawling",
    "craze": "crazing",
    "dull": "dull where gloss was meant",
    "dunt": "dunting",
    "flake_raw": "raw glaze flaking",
    "flash": "flashing",
    "haze": "haze",
    "lime_pop": "lime pops",
    "not_opaque": "not opaque enough",
    "orange_peel": "orange peel",
    "pinhole": "pinholes",
    "pit_dimple": "dimples",
    "pluck": "plucking",
    "run": "running",
    "scum_devit": "scum or crystals",
    "shiver": "shivering",
    "speck_dark": "dark specks",
    "speck_foreign": "specks of something else",
    "thin_skip": "thin or missed places",
}

_DIFFERENCES = (
    (1.0, "not visible"),
    (2.0, "just visible side by side"),
    (5.0, "clear"),
    (12.0, "another shade"),
)
"""Upper CIEDE2000 bound of each word. The first three steps follow the scale that print and textile work
commonly use (from memory: Mokrzycki and Tatol, "Colour difference: a survey", 2011); the last is ours."""


def plural(kind: str) -> str:
    """Give a kind of mark in the plural."""
    return _PLURALS.get(kind, kind)


def without_keys(sentence: str) -> str:
    """Take the names of facts out of a sentence; their plain words stand before them."""
    return _KEY.sub("", sentence)


def fault_noun(fault: str) -> str:
    """Give the fault behind a cause list as the trade says it."""
    return _FAULTS.get(fault, fault.replace("_", " "))


def subject_words(subject: Subject) -> str:
    """Give what a reading is of."""
    return _SUBJECTS[subject]


def doubt_words(probability: float | None) -> str:
    """Say how sure a call is."""
    if probability is None:
        return "not judged"
    if probability >= 0.9:
        return "sure"
    if probability >= 0.7:
        return "likely"
    if probability >= 0.35:  # a net is called from here on
        return "perhaps"
    return "unlikely"


def difference_words(delta_e_00: float) -> str:
    """Say how a CIEDE2000 difference looks to the eye."""
    for bound, words in _DIFFERENCES:
        if delta_e_00 < bound:
            return words
    return "another colour"


def lab_words(lab: Lab) -> str:
    """Give a colour as L*, a*, b* with one decimal."""
    return f"L* {number(lab.lightness, 1)}, a* {_signed(lab.a_star)}, b* {_signed(lab.b_star)}"


def colour_words(glaze: GlazeColour | None) -> str:
    """Give the glaze's colour with its doubt."""
    if glaze is None:
        return "colour not measured: no glaze could be told apart"
    values = (
        f"L* {number(glaze.lab.lightness, 1)}",
        f"a* {_signed(glaze.lab.a_star)}",
        f"b* {_signed(glaze.lab.b_star)}",
    )
    return ", ".join(
        f"{value} ± {number(doubt, 1)}" for value, doubt in zip(values, glaze.lab_sd, strict=True)
    )


def _signed(value: float) -> str:
    return f"{number(value, 1)}".replace("-", "−")


def finish_words(gloss: Gloss) -> str:
    """Give the finish and how sure it is."""
    if gloss.finish is None:
        return "finish not judged"
    word = {Finish.GLOSS: "gloss", Finish.SATIN: "satin", Finish.MATT: "matt"}[gloss.finish]
    return f"{word} ({doubt_words(gloss.probability)})"


def density_words(density: Mapping[str, float | None], counts: Mapping[str, int]) -> list[str]:
    """Give each kind of mark with its number per cm², or its bare count where the photo has no scale."""
    words, bare = [], []
    for kind, value in density.items():
        found = counts.get(kind, 0)
        name = kind if found == 1 else plural(kind)
        if value is None and found:
            bare.append(f"{found} {name}")
        elif value is not None and found:
            words.append(f"{number(value, 1 if value >= 0.1 else 2)} {plural(kind)} per cm² ({found} seen)")
    if bare:
        words.append(f"{', '.join(bare)} seen; without scale they are not counted per cm²")
    return words or ["no marks seen"]


def crazing_words(crazing: Crazing) -> str:
    """Say whether the glaze is crazed."""
    if crazing.present is None:
        return "crazing not judged"
    if not crazing.present:
        return "no crazing seen"
    words = f"crazed ({doubt_words(crazing.probability)})"
    if crazing.cell_mm is not None:
        words += f", cells about {length(crazing.cell_mm)} across"
    if crazing.cell_quartiles_mm is not None:
        small, _, large = crazing.cell_quartiles_mm
        words += f", half of them from {length(small)} to {length(large)}"
    return words + craze_direction_words(crazing)


_NO_WAY, _ONE_WAY = 0.15, 0.35
"""Strength of a net's direction under which no way, and from which one way prevails: an even net of a hundred
lines comes to 0.1 by chance; our own choice."""


def craze_direction_words(crazing: Crazing) -> str:
    """Say which way the lines of a net run: a pull of one direction (a joint, a rim, a throwing line)."""
    if crazing.direction_strength is None or crazing.direction_deg is None:
        return ""
    if crazing.direction_strength < _NO_WAY:
        return ", lines run all ways"
    much = "mostly" if crazing.direction_strength >= _ONE_WAY else "somewhat more"
    return f", lines run {much} {_way(crazing.direction_deg)}"


def _way(degrees: float) -> str:
    """Name an axis, 0 across and 90 upright, anticlockwise as seen."""
    ways = ("across", "from lower left to upper right", "up and down", "from upper left to lower right")
    return ways[int(((degrees + 22.5) % 180) // 45)]


def running_words(running: Running | None) -> str:
    """Say whether glaze has run below its line, and how far."""
    if running is None:
        return "running not judged: no bare foot in view"
    if not running.present:
        return "no runs below the glaze line"
    count = "one run" if running.runs == 1 else f"{running.runs} runs"
    if running.longest_mm is None:
        far = f"{number(running.longest_px)} pixels, no scale"
    else:
        far = f"{length(running.longest_mm)} ± {length(running.longest_sd_mm or 0.0)}"
    end = ", down to the very end" if running.reaches_end else ""
    return f"{count} below the glaze line, the longest {far}{end}"


def height_words(height: PlaneHeight | None) -> str:
    """Say how sure sizes are, a tile's face lying above the card; empty without scale."""
    if height is None:
        return ""
    thick = length(height.thickness_mm)
    doubt = f"{number(100 * height.size_doubt, 1)} %"
    if height.thickness_given:
        return f"sizes are for a tile {thick} thick, good to about {doubt}"
    return f"taken to be {thick} thick, which may put sizes wrong by {doubt}"


def rating_words(ratings: Sequence[Rating]) -> str:
    """Give ratings by class; empty where nothing is rated."""
    if not ratings:
        return ""
    told = "; ".join(f"{plural(rating.fault)} {rating.code}, {_in_words(rating)}" for rating in ratings)
    return f"{told} ({RATING_STYLE})"


_QUANTITY = ("none", "very few", "few", "a moderate number", "many", "dense")
"""Words for quantity classes 0 to 5 (after ISO 4628-1; basis memory)."""


def _in_words(rating: Rating) -> str:
    much = _QUANTITY[rating.quantity]
    if rating.size is None:
        return much
    _, clear_mm, large_mm = SIZE_MM
    sizes = {3: f"up to {length(clear_mm)}", 4: f"up to {length(large_mm)}", 5: f"over {length(large_mm)}"}
    return f"{much}, {sizes.get(rating.size, 'barely visible')}"


_SHAPE = {"blister": "raised", "pinhole": "sunken", "crater": "sunken", "speck": "flat"}


def pair_words(tile: TileReading) -> str:
    """Say what two photos, lit from two sides, told of a piece; empty where it was read from one."""
    if tile.beside_sha256 is None:
        return ""
    shapes = Counter(_SHAPE[str(mark.kind)] for mark in tile.marks)
    told = ", ".join(f"{shapes[shape]} {shape}" for shape in ("raised", "sunken", "flat") if shapes[shape])
    marks = f"marks told by the side they shade: {told}" if told else "no marks"
    return f"two photos, the lamp on either side: {marks}; glints that moved are off the colour"


def crawling_words(crawling: Crawling) -> str:
    """Say whether the glaze has crawled."""
    if not crawling.present:
        return "no crawling seen"
    spots = "one bare patch" if crawling.spots == 1 else f"{crawling.spots} bare patches"
    share = percent(crawling.area_fraction, 1)
    return f"crawled ({doubt_words(crawling.probability)}): {spots}, {share} of the face"


def fault_words(fault: str, probability: float, by: str) -> str:
    """Give a fault with who says so and how sure it is."""
    return f"{fault}, you say" if by == "person" else f"{fault} ({doubt_words(probability)})"


def taught_words(taught: Taught) -> str:
    """Say when a card was taught, and how long ago that was when the photo was read."""
    day = day_words(taught.on)
    return f"taught on {day}" if taught.age_days < 2 else f"taught on {day}, {taught.age_days} days before"


def calibration_words(
    kind: CalibrationKind | str, residual_delta_e_00: float | None = None, taught: Taught | None = None
) -> str:
    """Say what the colours rest on."""
    left = "" if residual_delta_e_00 is None else f", off by {number(residual_delta_e_00, 1)} on its patches"
    match str(kind):
        case "chart":
            return f"colour calibrated by the colour chart{left}"
        case "card" if taught is not None:
            return f"colour balanced by the card as it was {taught_words(taught)}{left}"
        case "card":
            return f"colour balanced by the card{left}"
        case _:
            return "colour as the phone gave it"
