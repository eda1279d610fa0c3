"""Colours by place as a potter would say them: down the face, at edges, thick and thin, over a stripe."""

from __future__ import annotations

from app.words.choices import number
from app.words.measures import difference_words
from vision.reading import EdgeBreak, FaceColours, Gradient, Lab, Opacity, Pool, ThickThin

__all__ = [
    "THICKNESS_GUESSED",
    "change_words",
    "edge_words",
    "face_lines",
    "gradient_words",
    "opacity_words",
    "pool_words",
    "thick_thin_words",
]

THICKNESS_GUESSED = (
    "A photo shows no thickness. Thin is taken to be along the edges, where glaze draws back; thick at the "
    "low end of the face in the photo, where it gathers. A second coat higher up, or a tile photographed on "
    "its head, makes that wrong."
)
_TURNS = ((2.0, "redder", "greener"), (2.0, "yellower", "bluer"))
"""Least change of a* and of b* that is named, and its two ways."""
_LEAST_LIGHTER = 1.5
"""Least change of L* that is named."""


def change_words(before: Lab, after: Lab) -> str:
    """Say how one colour differs from another: "darker and bluer"; "much alike" where nothing stands out."""
    told = []
    lighter = after.lightness - before.lightness
    if abs(lighter) >= _LEAST_LIGHTER:
        told.append("lighter" if lighter > 0 else "darker")
    steps = (after.a_star - before.a_star, after.b_star - before.b_star)
    for step, (least, more, less) in zip(steps, _TURNS, strict=True):
        if abs(step) >= least:
            told.append(more if step > 0 else less)
    return (
        " and ".join((", ".join(told[:-1]), told[-1]))
        if len(told) > 2
        else " and ".join(told) or "much alike"
    )


def _apart(measured: Gradient | EdgeBreak | ThickThin | Pool) -> str:
    return f"ΔE00 {number(measured.delta_e_00, 1)} ± {number(measured.delta_e_00_sd, 1)}"


def _sure(measured: Gradient | EdgeBreak | ThickThin | Pool) -> bool:
    return measured.delta_e_00 > 2 * measured.delta_e_00_sd


def gradient_words(gradient: Gradient) -> str:
    """Say how the colour changes down the face."""
    if not _sure(gradient):
        return f"top to bottom: no change beyond the doubt of the light ({_apart(gradient)})"
    how = change_words(gradient.top, gradient.bottom)
    return f"top to bottom: {how} lower down, {difference_words(gradient.delta_e_00)} ({_apart(gradient)})"


def edge_words(edges: EdgeBreak) -> str:
    """Say how the glaze breaks at the edges."""
    if not _sure(edges):
        return f"at the edges: not told from the field beside them ({_apart(edges)})"
    how = change_words(edges.field, edges.edge)
    return f"breaks at the edges: {how}, {difference_words(edges.delta_e_00)} ({_apart(edges)})"


def thick_thin_words(places: ThickThin) -> str:
    """Say how the colour differs between the likely thin and the likely thick places."""
    how = change_words(places.thin, places.thick)
    beyond = "" if _sure(places) else ", within the doubt"
    where = f"likely thick ({places.thick_where}) against likely thin ({places.thin_where})"
    return f"{where}: {how}{beyond} ({_apart(places)})"


def opacity_words(opacity: Opacity) -> str:
    """Say how well the glaze hides the dark stripe."""
    ratio = f"{number(100 * opacity.contrast_ratio, 0)} % ± {number(100 * opacity.contrast_ratio_sd, 0)} %"
    chance = opacity.hides_probability
    hides = "hides it" if chance >= 0.9 else "does not hide it" if chance <= 0.1 else "may or may not hide it"
    found = "the stripe you marked" if opacity.by_hand else "the dark stripe found across it"
    return f"over {found} the glaze is {ratio} as light as beside it: {hides} (98 % counts as hiding)"


def pool_words(pool: Pool) -> str:
    """Say whether glaze has pooled above its line."""
    if not _sure(pool):
        return f"just above the glaze line: as farther up ({_apart(pool)})"
    how = change_words(pool.field, pool.pooled)
    return f"pooled above the glaze line: {how} than farther up ({_apart(pool)})"


def face_lines(places: FaceColours) -> list[str]:
    """Give a line for each measure that could be taken."""
    lines = []
    if places.opacity is not None:
        lines.append(opacity_words(places.opacity))
    if places.gradient is not None:
        lines.append(gradient_words(places.gradient))
    if places.edges is not None:
        lines.append(edge_words(places.edges))
    if places.thick_thin is not None:
        lines.append(thick_thin_words(places.thick_thin))
    return lines
