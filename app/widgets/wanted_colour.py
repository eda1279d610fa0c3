"""A colour or palette named: picked, typed, clicked on a picture, or like a filed tile's."""

from __future__ import annotations

import streamlit as st

from app import state
from app.address import ask, first, tell
from app.cache import catalogue, view_picture
from app.services.colours import (
    hex_of,
    is_hex,
    lab_of_hex,
    lab_of_lch,
    lab_of_text,
    lch_of,
    palette_of_piece,
    palette_of_text,
    palette_text,
    picked_lab,
)
from app.services.reading import read_item
from app.widgets.markup import advice_note, note
from app.widgets.pick import click_on_picture
from app.widgets.pictures import small_copy
from app.widgets.pieces import failure
from catalog.errors import CatalogError
from vision.reading import Lab, PaletteEntry

__all__ = ["asked_like", "wanted_colour"]

WAYS = {
    "pick": "Pick a colour",
    "type": "Type it",
    "tile": "Click on a filed tile",
    "photo": "Click on a photo of yours",
    "palette": "Two or three colours",
    "like": "Like a filed tile",
}
START = Lab(40.0, -2.0, -20.0)
START_PALETTE = "#3f5f80 60, #d9d2c4 40"
SCALES = {"lab": "L* a* b*", "lch": "L* C* h", "hex": "Hex"}


def wanted_colour() -> Lab | tuple[PaletteEntry, ...] | None:
    """Show the ways to name a colour and give what was named; the address says it too."""
    way = ask("by", "pick")
    first("match_way", way if way in WAYS else "pick")
    way = (
        st.segmented_control(
            "How do you want to name the colour?", list(WAYS), format_func=WAYS.__getitem__, key="match_way"
        )
        or "pick"
    )
    tell("by", way, way)
    ways = {
        "pick": _picked,
        "type": _typed,
        "tile": _clicked_tile,
        "photo": _clicked_photo,
        "palette": _palette,
        "like": _like,
    }
    for name in {name for said in _SAYS.values() for name in said} - set(_SAYS[way]):
        st.query_params.pop(name, None)
    return ways[way]()


_SAYS = {
    "pick": ("colour",),
    "type": ("lab", "written"),
    "tile": ("tile", "spot"),
    "photo": (),
    "palette": ("palette",),
    "like": ("tile",),
}


def asked_like() -> str | None:
    """Give the code of the tile that others are to be like, None where a colour was named otherwise."""
    return ask("tile", None) if ask("by", "pick") == "like" else None


def _read_hex(text: str) -> str:
    if not is_hex(text):
        raise ValueError(text)
    return text


def _picked() -> Lab:
    first("match_colour", ask("colour", hex_of(START), _read_hex))
    code = st.color_picker("Colour", key="match_colour")
    tell("colour", code, code)
    return lab_of_hex(code)


def _typed() -> Lab | None:
    scale = ask("written", "lab")
    first("match_written", scale if scale in SCALES else "lab")
    scale = (
        st.segmented_control("Written as", list(SCALES), format_func=SCALES.__getitem__, key="match_written")
        or "lab"
    )
    tell("written", scale, scale)
    kept = ask("lab", START, lab_of_text)
    lab = {"lab": _typed_lab, "lch": _typed_lch, "hex": _typed_hex}[scale](kept)
    if lab is not None:
        tell("lab", lab, ",".join(f"{value:.2f}".rstrip("0").rstrip(".") for value in lab.as_tuple()))
    return lab


def _number(label: str, key: str, start: float, most: float, least: float = 0.0, digits: int = 1) -> float:
    first(key, min(max(start, least), most))
    return st.number_input(label, least, most, step=1.0, format=f"%.{digits}f", width=160, key=key)


def _typed_lab(kept: Lab) -> Lab:
    with st.container(horizontal=True):
        return Lab(
            _number("L*, 0 to 100", "match_lab_l", kept.lightness, 100.0),
            _number("a*, green to red", "match_lab_a", kept.a_star, 128.0, -128.0),
            _number("b*, blue to yellow", "match_lab_b", kept.b_star, 128.0, -128.0),
        )


def _typed_lch(kept: Lab) -> Lab:
    light, chroma, hue = lch_of(kept)
    with st.container(horizontal=True):
        return lab_of_lch(
            _number("L*, 0 to 100", "match_lch_l", light, 100.0),
            _number("C*, how much colour", "match_lch_c", chroma, 180.0),
            _number("h, degrees from red", "match_lch_h", hue, 360.0, digits=0),
        )


def _typed_hex(kept: Lab) -> Lab | None:
    first("match_hex", hex_of(kept))
    text = st.text_input("Colour of the screen, as #rrggbb", key="match_hex", width=260)
    try:
        return lab_of_hex(text)
    except ValueError:
        st.html(note(f"“{text}” is no such colour: six digits, 0 to 9 and a to f, are wanted: #7a5c41."))
        return None


def _palette() -> tuple[PaletteEntry, ...]:
    given = [(hex_of(entry.lab), entry.fraction) for entry in ask("palette", _START_PALETTE, _read_palette)]
    spare = ("#3f5f80", "#d9d2c4", "#6b4a32")
    entries = []
    with st.container(horizontal=True, vertical_alignment="bottom"):
        for number in range(3):
            code, share = given[number] if number < len(given) else (spare[number], 0.0)
            first(f"match_colour_{number}", code)
            first(f"match_share_{number}", round(share))
            with st.container(width=150):
                code = st.color_picker(f"Colour {number + 1}", key=f"match_colour_{number}")
                share = st.number_input(
                    f"Share {number + 1}, %",
                    0,
                    100,
                    step=5,
                    key=f"match_share_{number}",
                    help="How much of the glazed face it covers; 0 leaves it out",
                )
            if share:
                entries.append(PaletteEntry(lab_of_hex(code), share))
    if not entries:
        st.html(note("Give at least one colour a share above 0."))
        return ()
    tell("palette", tuple(entries), palette_text(entries))
    return tuple(entries)


def _read_palette(text: str) -> tuple[PaletteEntry, ...]:
    """Read up to three colours whose shares are brought to percent of the whole."""
    entries = palette_of_text(text)[:3]
    whole = sum(entry.fraction for entry in entries)
    return tuple(PaletteEntry(entry.lab, 100 * entry.fraction / whole) for entry in entries)


_START_PALETTE = _read_palette(START_PALETTE)


def _chosen_tile(label: str) -> str | None:
    codes = catalogue().photographed_codes()
    first("match_tile", ask("tile", None), codes)
    if st.session_state["match_tile"] not in codes:
        st.session_state["match_tile"] = codes[0] if codes else None
    code = st.selectbox(label, codes, width=260, key="match_tile")
    tell("tile", code, code)
    return code


def _like() -> tuple[PaletteEntry, ...] | None:
    code = _chosen_tile("Like this tile")
    if code is None:
        return None
    palette = palette_of_piece(catalogue().piece(code))
    if not palette:
        st.write("No glaze colour of this tile was measured; choose another.")
        return None
    return palette


def _clicked_tile() -> Lab | None:
    code = _chosen_tile("Tile")
    if code is None:
        return None
    try:
        data = view_picture(catalogue().piece(code).readings[0].id)
    except CatalogError as error:
        failure(error)
        return None
    if data is None:
        st.write("No picture of this tile is kept; choose another.")
        return None
    spot = st.query_params.get("spot")
    spots = state.remembered("match_spots", {})
    if spot and f"tile {code}" not in spots:
        try:
            x, y = (min(max(float(part), 0.0), 1.0) for part in spot.split(","))
            state.remember("match_spots", {**spots, f"tile {code}": (x, y)})
        except ValueError:  # an address written by hand: nothing is clicked yet
            pass
    lab = _click(small_copy(data, 900), f"the straightened picture of {code}", f"tile {code}")
    clicked = state.remembered("match_spots", {}).get(f"tile {code}")
    tell("spot", clicked, None if clicked is None else f"{clicked[0]:.3f},{clicked[1]:.3f}")
    return lab


def _clicked_photo() -> Lab | None:
    given = st.file_uploader("Photo", key="match_photo")
    if given is None:
        st.caption("Of a shard, a pot, a page: with the card in it, its colour is corrected.")
        return None
    item = st.session_state.get("gb_match_item")
    if item is None or item.name != given.name or len(item.data) != given.size:
        with st.spinner("Reading the photo"):
            item = read_item(given.getvalue(), given.name, taught=catalogue().cards.taught())
        st.session_state["gb_match_item"] = item
    if item.advice is not None:
        st.html(advice_note(item.advice))
        return None
    views = item.views or {}
    if not views:
        st.html(note("No tile stands out in this photo, so its own colours are taken, uncorrected."))
        return _click(item.preview or b"", f"your photo {given.name}", f"photo {given.name}")
    number = 1
    if len(views) > 1:
        number = st.number_input("Which of the pieces found?", 1, len(views), 1, width=200)
    if str(item.reading.calibration.kind) == "none":
        st.html(note("There is no card in this photo: the colour is as the phone gave it."))
    return _click(
        small_copy(views[number - 1], 900), f"piece {number} of {given.name}", f"{given.name} {number}"
    )


def _click(data: bytes, label: str, about: str) -> Lab | None:
    """Show a picture to click on; what was clicked on it before counts until another click."""
    spots = state.remembered("match_spots", {})
    with st.container(width=420):
        clicked = click_on_picture(
            data, f"Click on the colour you want in {label}", f"pick {about}", spots.get(about)
        )
    if clicked is not None:
        spots = {**spots, about: clicked}
        state.remember("match_spots", spots)
    if about not in spots:
        st.caption("Click on the colour you want. Keyboard: arrows move the ring, Enter takes the colour.")
        return None
    return picked_lab(data, *spots[about])
