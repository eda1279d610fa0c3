"""Each flag of a reading as a sentence and a next step."""

from __future__ import annotations

from app.words.advice import Advice
from vision.reading import Flag

__all__ = ["flag_advice"]

_FLAGS: dict[Flag, Advice] = {
    Flag.NO_CARD: Advice(
        "No reference card was found in this photo.",
        "Lay the printed card flat beside the tiles and photograph it whole.",
    ),
    Flag.NO_SCALE: Advice(
        "Sizes could not be worked out, so marks are not counted per cm².",
        "Put the reference card, or a colour chart of known size, next to the tiles.",
    ),
    Flag.COLOUR_UNCORRECTED: Advice(
        "The colours are as the phone gave them, not corrected.",
        "Compare them only within this photo, or take it again with the card in view.",
    ),
    Flag.CARD_PARTLY_SEEN: Advice(
        "Only part of the reference card is in view, so scale and colour are less sure.",
        "Step back until all four corner squares of the card are in the photo.",
    ),
    Flag.CHART_NOT_TRUSTED: Advice(
        "A colour chart was seen but its patches do not agree with each other.",
        "Move it out of glare and shadow; the colours were taken without it.",
    ),
    Flag.CARD_AGED: Advice(
        "The card was taught its colours more than a year ago; paper yellows and ink fades.",
        "Teach it again with a colour chart, or print a new one and teach that.",
    ),
    Flag.CARD_DRIFTED: Advice(
        "The card no longer looks as it did when it was taught: dirt, glare, or another print.",
        "Clean it and keep glare off; if that does not help, teach it again with a colour chart.",
    ),
    Flag.CLIPPED_HIGHLIGHTS: Advice(
        "Parts of the photo are burnt out to white.",
        "Turn the exposure down a little or soften the light.",
    ),
    Flag.TOO_DARK: Advice(
        "The photo is very dark, which makes colours and small marks unsure.",
        "Use more light or a longer exposure.",
    ),
    Flag.BLURRED: Advice(
        "The photo is not sharp, so small marks and fine cracks can be missed.",
        "Rest the phone on something, tap the tile to focus, and take it again.",
    ),
    Flag.LOW_RESOLUTION: Advice(
        "The tile is small in the photo, so the smallest marks cannot be seen.",
        "Move closer, or photograph fewer tiles at a time.",
    ),
    Flag.UNEVEN_LIGHT: Advice(
        "The light falls off across the photo, so colours differ from side to side.",
        "Turn the board towards the window or use two lamps.",
    ),
    Flag.NOTHING_FOUND: Advice(
        "Nothing could be told apart from the table in this photo.",
        "Use a plain table unlike the tiles in colour, or crop to the glaze and read it as a close-up.",
    ),
    Flag.NOT_POTTERY: Advice(
        "This does not look like pottery, so nothing was read.",
        "If it is, say what the photo shows, or lay the printed card beside the piece, and read it again.",
    ),
    Flag.EDGE_CUT: Advice(
        "Part of the piece lies outside the photo.",
        "Leave a finger's width of table around it.",
    ),
    Flag.MOSTLY_OUT: Advice(
        "Less than half of its edge lies in the photo: whether it is a piece at all cannot be told.",
        "Leave it out, or take it again whole, with a finger's width of table around it.",
    ),
    Flag.LITTLE_GLAZE: Advice(
        "Very little glazed surface is in view, so its figures rest on few pixels.",
        "Photograph the glazed face square on.",
    ),
    Flag.NO_REFLECTION: Advice(
        "No reflection of a lamp or window is in view, so the finish cannot be judged.",
        "Let a window reflect in one corner of the tile.",
    ),
    Flag.CRAZING_NOT_ASSESSABLE: Advice(
        "Crazing cannot be judged from this photo.",
        "Take a sharper, closer one; a wipe of washable ink shows fine cracks.",
    ),
    Flag.FINE_LINES: Advice(
        "Fine lines are in view that do not join into a net of crazing.",
        "Look closely: a crack catches a fingernail, a hair wipes off. A cracked pot rings dull when tapped.",
    ),
    Flag.PINHOLES_NOT_ASSESSABLE: Advice(
        "Pinholes are too small to be seen at this distance.",
        "Move closer, so that the tile fills the photo.",
    ),
    Flag.CURVED_SURFACE: Advice(
        "The surface is curved; the parts that turn away were left out.",
        "Photograph other sides as well, or use a flat tile for figures to compare.",
    ),
    Flag.SCALE_APPROXIMATE: Advice(
        "The scale is a rough one, because the surface does not lie in the plane of the card.",
        "Treat sizes as a guide only.",
    ),
    Flag.SUBJECT_GUESSED: Advice(
        "Whether this is a tile, a piece of ware or a close-up was guessed.",
        "If the outline looks wrong, choose what it is and read it again.",
    ),
    Flag.SUBJECT_DOUBTED: Advice(
        "This may not be pottery at all, so no faults are named.",
        "If it is, say what the photo shows, or lay the card beside the piece, and read it again.",
    ),
    Flag.GREY_PHOTO: Advice(
        "The photo has no colour.",
        "Turn off the phone's black-and-white setting and take it again.",
    ),
    Flag.PROFILE_IGNORED: Advice(
        "The colour profile inside the file could not be used.",
        "Export it again as sRGB if the colours matter.",
    ),
    Flag.DAMAGED_FILE: Advice(
        "The file is damaged; what could be saved of it was read.",
        "Copy it from the phone again.",
    ),
    Flag.TWO_PHOTOS: Advice(
        "This was read from two photos, lit from two sides.",
        "Nothing to do: glints and marks are surer so.",
    ),
    Flag.SECOND_PHOTO_UNUSED: Advice(
        "This piece was not found again in the second photo, so it was read from the first alone.",
        "Leave the pieces where they lie and move only the lamp.",
    ),
}


def flag_advice(flag: Flag) -> Advice:
    """Say what a flag of a reading means and what to do about it."""
    return _FLAGS[flag]
