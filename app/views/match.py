"""Match: a colour or palette named, typed or clicked on a picture, and the tiles that come nearest to it."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app import state
from app.cache import catalogue, view_picture
from app.services.colours import (
    hex_of,
    is_hex,
    lab_of_hex,
    lab_of_lch,
    lch_of,
    palette_of_piece,
    picked_lab,
)
from app.services.reading import read_item
from app.widgets.board import board
from app.widgets.first_steps import first_steps
from app.widgets.markup import advice_note, note, palette_strip, swatch
from app.widgets.pick import click_on_picture
from app.widgets.pictures import small_copy
from app.widgets.pieces import failure
from app.words.measures import difference_words, lab_words
from catalog.errors import CatalogError
from catalog.palette_match import PaletteMatch, match_palette
from catalog.records import FINISHES, ColourMatch
from catalog.search import match_colour
from vision.reading import Lab, PaletteEntry

WAYS = {
    "pick": "Pick a colour",
    "type": "Type it",
    "tile": "Click on a filed tile",
    "photo": "Click on a photo of yours",
    "palette": "Two or three colours",
    "like": "Like a filed tile",
}
NEAR = 12.0  # CIEDE2000 beyond which the nearest tile is called far: the last step of `difference_words`
START = Lab(40.0, -2.0, -20.0)
START_PALETTE = ("#3f5f80", "#d9d2c4", "#6b4a32")


def wanted() -> Lab | tuple[PaletteEntry, ...] | None:
    """Show the ways to name a colour and give what was named."""
    # Not bound to the address by Streamlit: it refuses to leave a view that has a bound value.
    named = st.query_params.get("by", "")
    way = st.segmented_control(
        "How do you want to name the colour?",
        list(WAYS),
        format_func=WAYS.__getitem__,
        default=named if named in WAYS else state.remembered("match_way", "pick"),
    )
    state.remember("match_way", way or "pick")
    st.query_params["by"] = way or "pick"
    ways = {
        "type": _typed,
        "tile": _clicked_tile,
        "photo": _clicked_photo,
        "palette": _palette,
        "like": _like,
    }
    return ways.get(way or "pick", _picked)()


def _picked() -> Lab:
    kept = state.remembered("match_hex", hex_of(START))
    named = st.query_params.get("colour", kept)
    code = st.color_picker("Colour", named if is_hex(named) else kept)
    state.remember("match_hex", code)
    st.query_params["colour"] = code
    return lab_of_hex(code)


def _typed() -> Lab | None:
    scale = st.segmented_control(
        "Written as", ("L* a* b*", "L* C* h", "Hex"), default=state.remembered("match_scale", "L* a* b*")
    )
    state.remember("match_scale", scale or "L* a* b*")
    kept = state.remembered("match_lab", START)
    if scale == "Hex":
        return _typed_hex(kept)
    with st.container(horizontal=True):
        if scale == "L* C* h":
            light, chroma, hue = lch_of(kept)
            lightness = st.number_input("L*, 0 to 100", 0.0, 100.0, light, 1.0, "%.1f", width=150)
            chroma = st.number_input("C*, how much colour", 0.0, 180.0, chroma, 1.0, "%.1f", width=160)
            hue = st.number_input("h, degrees from red", 0.0, 360.0, hue, 1.0, "%.0f", width=160)
            lab = lab_of_lch(lightness, chroma, hue)
        else:
            lightness = st.number_input("L*, 0 to 100", 0.0, 100.0, kept.lightness, 1.0, "%.1f", width=150)
            a_star = st.number_input("a*, green to red", -128.0, 128.0, kept.a_star, 1.0, "%.1f", width=150)
            b_star = st.number_input("b*, blue to yellow", -128.0, 128.0, kept.b_star, 1.0, "%.1f", width=150)
            lab = Lab(lightness, a_star, b_star)
    state.remember("match_lab", lab)
    return lab


def _typed_hex(kept: Lab) -> Lab | None:
    text = st.text_input("Colour of the screen, as #rrggbb", hex_of(kept), width=260)
    try:
        lab = lab_of_hex(text)
    except ValueError:
        st.html(note(f"“{text}” is no such colour: six digits, 0 to 9 and a to f, are wanted: #7a5c41."))
        return None
    state.remember("match_lab", lab)
    return lab


def _palette() -> tuple[PaletteEntry, ...]:
    entries = []
    with st.container(horizontal=True, vertical_alignment="bottom"):
        for number, start in enumerate(START_PALETTE, start=1):
            with st.container(width=150):
                kept = state.remembered(f"match_palette_{number}", start)
                code = st.color_picker(f"Colour {number}", kept, key=f"palette_colour_{number}")
                state.remember(f"match_palette_{number}", code)
                share = st.number_input(
                    f"Share {number}, %",
                    0,
                    100,
                    state.remembered(f"match_share_{number}", (60, 40, 0)[number - 1]),
                    5,
                    help="How much of the glazed face it covers; 0 leaves it out",
                )
                state.remember(f"match_share_{number}", share)
            if share:
                entries.append(PaletteEntry(lab_of_hex(code), share / 100))
    if not entries:
        st.html(note("Give at least one colour a share above 0."))
    return tuple(entries)


def _chosen_tile(label: str) -> str | None:
    codes = list(catalogue().photographed_codes())
    kept = st.query_params.get("tile") or state.remembered("match_tile", None)
    code = st.selectbox(label, codes, index=codes.index(kept) if kept in codes else 0, width=260)
    state.remember("match_tile", code)
    if code is not None:
        st.query_params["tile"] = code
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
    return _click(small_copy(data, 900), f"the straightened picture of {code}", f"tile {code}")


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


def limits() -> dict[str, object]:
    """Show what the tiles found must be."""
    catalog = catalogue()
    bodies = {body.name: body.id for body in catalog.bodies()}
    cones = list(dict.fromkeys(load.cone_aimed for load in catalog.loads() if load.cone_aimed))
    with st.container(horizontal=True):
        body = _limit("Clay body", list(bodies), "match_body", 190)
        cone = _limit("Cone aimed at", cones, "match_cone", 150)
        finish = _limit("Finish", FINISHES, "match_finish", 140)
        limit = st.selectbox("Show", (6, 12, 24), index=1, format_func=lambda n: f"{n} nearest", width=140)
    with st.container(horizontal=True):
        faultless = st.checkbox("Without faults", key="match_faultless", persist_state="session")
        corrected = st.checkbox("Only corrected colours", key="match_corrected", persist_state="session")
    return {
        "body_id": bodies.get(body or ""),
        "cone": cone,
        "finish": finish,
        "faulty": False if faultless else None,
        "calibrated_only": corrected,
        "limit": limit,
    }


def _limit(label: str, options: Sequence[str], key: str, width: int) -> str | None:
    return st.selectbox(
        label, options, index=None, placeholder="any", width=width, key=key, persist_state="session"
    )


def found(matches: Sequence[ColourMatch | PaletteMatch]) -> None:
    """Show the tiles found with how far each is, in words too."""
    if not matches:
        st.write("No tile is filed that passes these limits.")
        return
    far = _distance(matches[0])
    if far > NEAR:
        st.html(
            note(
                f"Nothing near this colour is filed. The nearest, {matches[0].piece.code}, is "
                f"{far:.0f} away: another colour."
            )
        )
    if len({match.calibration_kind for match in matches}) > 1:
        st.html(note("These colours were not all corrected in one way; what each rests on stands with it."))
    under = {match.piece.code: _how_near(match) for match in matches}
    code = board([match.piece for match in matches], key="match_board", under=under)
    if code is not None:
        state.choose_piece(code)
        st.switch_page("views/shelf.py")


def _distance(match: ColourMatch | PaletteMatch) -> float:
    return match.delta_e_00 if isinstance(match, ColourMatch) else match.distance


_RESTS_ON = {"chart": "by chart", "card": "by card"}


def _how_near(match: ColourMatch | PaletteMatch) -> str:
    far = _distance(match)
    words = f"{far:.1f} away: {difference_words(far)}"
    if match.calibration_kind == "none":
        return f"{words}; its colour is not corrected, so take this with care"
    if isinstance(match, ColourMatch) and match.fraction < 0.5:
        words += f"; on {match.fraction:.0%} of the face"
    return f"{words} ({_RESTS_ON[match.calibration_kind]})"


def _search(named: Lab | tuple[PaletteEntry, ...], chosen: dict[str, object]):
    if isinstance(named, Lab):
        return match_colour(catalogue(), named, **chosen)
    filters = {name: chosen[name] for name in ("body_id", "cone", "finish", "faulty")}
    itself = state.remembered("match_tile", None) if state.remembered("match_way", "pick") == "like" else None
    return match_palette(
        catalogue(),
        named,
        limit=chosen["limit"],
        filters=filters,
        calibrated_only=chosen["calibrated_only"],
        leave_out=itself,
    )


def show() -> None:
    """Show the search by colour."""
    st.title("Match")
    if not catalogue().count_pieces():
        first_steps()
        return
    named = wanted()
    if not named:
        return
    if isinstance(named, Lab):
        st.html(swatch(hex_of(named), lab_words(named)))
        told = "Distances are CIEDE2000, from the colour wanted to the nearest of each glaze’s own colours."
    else:
        whole = sum(entry.fraction for entry in named)
        st.html(palette_strip([(hex_of(entry.lab), entry.fraction / whole) for entry in named]))
        told = (
            "Distances are CIEDE2000, the mean over the face when each part of it is matched to the part "
            "of the other that suits it best."
        )
    chosen = limits()
    try:
        matches = _search(named, chosen)
    except CatalogError as error:
        failure(error)
        return
    found(matches)
    st.caption(told)


show()
