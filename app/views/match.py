"""Match: a colour picked, typed or clicked on a picture, and the tiles that come nearest to it."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue, view_picture
from app.services.colours import hex_of, lab_of_hex, nearest_pieces, picked_lab
from app.services.reading import read_item
from app.widgets.board import board
from app.widgets.first_steps import first_steps
from app.widgets.markup import advice_note, note, swatch
from app.widgets.pick import click_on_picture
from app.widgets.pictures import small_copy
from app.widgets.pieces import failure
from app.words.measures import difference_words, lab_words
from catalog.errors import CatalogError
from catalog.records import FINISHES, ColourMatch
from vision.reading import Lab

WAYS = ("Pick a colour", "Type CIELAB", "Click on a filed tile", "Click on a photo of yours")
NEAR = 12.0  # CIEDE2000 beyond which the nearest tile is called far: the last step of `difference_words`
START = Lab(40.0, -2.0, -20.0)


def wanted_colour() -> Lab | None:
    """Show the ways to name a colour and give the one named."""
    way = st.segmented_control(
        "How do you want to name the colour?", WAYS, default=state.remembered("match_way", WAYS[0])
    )
    state.remember("match_way", way or WAYS[0])
    if way == WAYS[1]:
        return _typed()
    if way == WAYS[2]:
        return _clicked_tile()
    if way == WAYS[3]:
        return _clicked_photo()
    code = st.color_picker("Colour", state.remembered("match_hex", hex_of(START)))
    state.remember("match_hex", code)
    return lab_of_hex(code)


def _typed() -> Lab:
    kept = state.remembered("match_lab", START)
    with st.container(horizontal=True):
        lightness = st.number_input("L*, 0 to 100", 0.0, 100.0, kept.lightness, 1.0, "%.1f", width=150)
        a_star = st.number_input("a*, green to red", -128.0, 128.0, kept.a_star, 1.0, "%.1f", width=150)
        b_star = st.number_input("b*, blue to yellow", -128.0, 128.0, kept.b_star, 1.0, "%.1f", width=150)
    lab = Lab(lightness, a_star, b_star)
    state.remember("match_lab", lab)
    return lab


def _clicked_tile() -> Lab | None:
    codes = [piece.code for piece in catalogue().pieces(order="code") if piece.readings]
    kept = state.remembered("match_tile", None)
    code = st.selectbox("Tile", codes, index=codes.index(kept) if kept in codes else 0, width=260)
    state.remember("match_tile", code)
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
    bodies = {body.name: body.id for body in catalogue().bodies()}
    with st.container(horizontal=True):
        body = st.selectbox("Clay body", list(bodies), index=None, placeholder="any", width=190)
        finish = st.selectbox("Finish", FINISHES, index=None, placeholder="any", width=140)
        limit = st.selectbox("Show", (6, 12, 24), index=1, format_func=lambda n: f"{n} nearest", width=140)
    return {"body_id": bodies.get(body or ""), "finish": finish, "limit": limit}


def found(lab: Lab, matches: tuple[ColourMatch, ...]) -> None:
    """Show the tiles found with how far each is, in words too."""
    if not matches:
        st.write("No tile is filed that passes these limits.")
        return
    nearest = matches[0]
    if nearest.delta_e_00 > NEAR:
        st.html(
            note(
                f"Nothing near this colour is filed. The nearest, {nearest.piece.code}, is "
                f"{nearest.delta_e_00:.0f} away: another colour."
            )
        )
    under = {match.piece.code: _how_near(match) for match in matches}
    code = board([match.piece for match in matches], key="match_board", under=under)
    if code is not None:
        state.choose_piece(code)
        st.switch_page("views/shelf.py")


def _how_near(match: ColourMatch) -> str:
    words = f"{match.delta_e_00:.1f} away: {difference_words(match.delta_e_00)}"
    if match.calibration_kind == "none":
        return f"{words}; its colour is not corrected, so take this with care"
    return f"{words}; on {match.fraction:.0%} of the face" if match.fraction < 0.5 else words


def show() -> None:
    """Show the search by colour."""
    st.title("Match")
    if not catalogue().count_pieces():
        first_steps()
        return
    lab = wanted_colour()
    if lab is None:
        return
    st.html(swatch(hex_of(lab), lab_words(lab)))
    chosen = limits()
    try:
        matches = nearest_pieces(catalogue(), lab, **chosen)
    except CatalogError as error:
        failure(error)
        return
    found(lab, matches)
    st.caption("Distances are CIEDE2000, from the colour wanted to the nearest of each glaze’s own colours.")


show()
