"""How to take the photo, in four drawings of our own."""

from __future__ import annotations

import streamlit as st

__all__ = ["photo_guide"]

_TABLE, _PAPER, _INK, _GLAZE, _CLAY, _LIGHT = "#cbb391", "#f7f5f0", "#2b2724", "#46708a", "#d8c4a6", "#fff3c4"


def _drawing(inside: str) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="480" height="320" viewBox="0 0 240 160">'
        f'<rect width="240" height="160" fill="{_TABLE}"/>{inside}</svg>'
    )


def _card(x: float, y: float, scale: float = 1.0) -> str:
    squares = "".join(
        f'<rect x="{a}" y="{b}" width="11" height="11" fill="{_INK}"/>'
        f'<rect x="{a + 3}" y="{b + 3}" width="3" height="3" fill="{_PAPER}"/>'
        for a, b in ((4, 4), (73, 4), (4, 45), (73, 45))
    )
    greys = "".join(
        f'<rect x="{18 + 6.5 * i}" y="6" width="6.5" height="7" fill="#{v:02x}{v:02x}{v:02x}"/>'
        for i, v in enumerate((245, 210, 175, 140, 105, 75, 45, 20))
    )
    return (
        f'<g transform="translate({x} {y}) scale({scale})"><rect width="88" height="60" fill="{_PAPER}"/>'
        f"{squares}{greys}</g>"
    )


def _tile(x: float, y: float, glint: bool = False) -> str:
    shine = f'<path d="M{x + 6} {y + 8}h9v20h-9z" fill="#fff" opacity="0.75"/>' if glint else ""
    return (
        f'<rect x="{x}" y="{y}" width="34" height="64" fill="{_CLAY}"/>'
        f'<path d="M{x} {y}h34v46q-8 5 -17 0t-17 2z" fill="{_GLAZE}"/>{shine}'
    )


def _cross(x: float, y: float) -> str:
    return f'<path d="M{x} {y}l26 26m0 -26l-26 26" stroke="#b3261e" stroke-width="6" stroke-linecap="round"/>'


def _phone(x: float, y: float) -> str:
    return (
        f'<rect x="{x}" y="{y}" width="58" height="8" rx="3" fill="{_INK}"/>'
        f'<circle cx="{x + 14}" cy="{y + 8}" r="3.5" fill="#5d6b75"/>'
    )


_FRAME = f'<rect x="12" y="10" width="216" height="140" fill="none" stroke="{_INK}" stroke-width="3"/>'
_WINDOW = (
    f'<rect x="4" y="22" width="26" height="96" fill="{_LIGHT}" stroke="{_INK}" stroke-width="3"/>'
    f'<path d="M17 22v96M4 70h26" stroke="{_INK}" stroke-width="2"/>'
    f'<path d="M34 30L112 48V122L34 112z" fill="{_LIGHT}" opacity="0.55"/>'
)
_SIDE = (
    f'<rect width="240" height="132" fill="#e9e4db"/><rect y="132" width="240" height="28" fill="{_TABLE}"/>'
)

STEPS = (
    (
        "Fill the frame",
        "Card and tiles lie flat side by side, all four corner squares of the card in view and uncovered. "
        "Two tiles and the card in one photo, not twelve: half a millimetre of pinhole needs about ten "
        "pixels a millimetre.",
        "Seen from above: the reference card and two tiles side by side fill the frame of the photo",
        _drawing(_card(24, 48) + _tile(130, 44) + _tile(178, 44) + _FRAME),
    ),
    (
        "Light from one side",
        "Daylight from one window; lamps and flash off, your own shadow off the table. Where the window "
        "shows as a bright patch in the glaze, its gloss can be read.",
        "A window on the left lights card and tile; its reflection is a bright patch in the glaze",
        _drawing(_WINDOW + _card(96, 50, 0.8) + _tile(184, 44, glint=True)),
    ),
    (
        "Straight above",
        "Hold the phone level over the table, about two hands high. Wipe the lens, tap on a tile to focus.",
        "Seen from the side: a phone level above the table, card and tile lying flat below it",
        _drawing(
            _SIDE
            + _phone(91, 22)
            + f'<path d="M105 34L34 128h150z" fill="{_LIGHT}" opacity="0.6"/>'
            + f'<rect x="48" y="127" width="70" height="3" fill="{_PAPER}"/>'
            + f'<rect x="128" y="122" width="40" height="8" fill="{_GLAZE}"/>'
        ),
    ),
    (
        "Not so",
        "A tile over a corner square, a shadow across the card, a slanted or blurred photo: the photo is "
        "still read, and what it could not tell is said.",
        "Two faults crossed out: a tile that covers a corner of the card, and a shadow across the card",
        _drawing(
            _card(16, 34, 0.85)
            + _tile(76, 52)
            + _card(136, 50, 0.85)
            + '<path d="M120 0L240 120V0z" fill="#000" opacity="0.45"/>'
            + _cross(28, 118)
            + _cross(160, 118)
        ),
    ),
)


def photo_guide() -> None:
    """Show the drawings with their words, four side by side or under each other."""
    with st.container(horizontal=True, gap="medium"):
        for number, (title, words, alt, drawing) in enumerate(STEPS, start=1):
            with st.container(width=244, gap="small"):
                st.image(drawing, width="stretch", alt=alt)
                st.markdown(f"**{number}. {title}**" if number < len(STEPS) else f"**{title}**")
                st.write(words)
