"""Two to six pieces side by side: pictures, colour differences, surface, and only what differs besides."""

from __future__ import annotations

from html import escape

import streamlit as st

from app import state
from app.cache import catalogue, view_picture
from app.services.colours import hex_of
from app.services.comparing import Comparison, compare, newest_reading
from app.widgets.markup import note, plain, swatch
from app.widgets.pieces import failure, glaze_words, piece_alt, standing_faults
from app.words.choices import number
from app.words.measures import difference_words, finish_words, lab_words
from catalog.errors import CatalogError
from catalog.records import Piece

__all__ = ["MOST_COMPARED", "compare_page"]

MOST_COMPARED = 6


def compare_page(codes: list[str]) -> None:
    """Show the pieces with these codes side by side."""
    st.title("Side by side")
    if st.button("Back to the shelf", icon=":material/arrow_back:"):
        del st.query_params["compare"]
        st.rerun()
    pieces: list[Piece] = []
    for code in dict.fromkeys(codes):
        try:
            pieces.append(catalogue().piece(code))
        except CatalogError as error:
            failure(error)
    if not 2 <= len(pieces) <= MOST_COMPARED:
        st.write(f"Two to {MOST_COMPARED} pieces can stand side by side; {len(pieces)} are named here.")
        return
    for column, piece in zip(st.columns(len(pieces)), pieces, strict=True):
        with column:
            _one(piece)
    found = compare(pieces, catalogue().recipe)
    _colours(found, pieces)
    _differences(found, pieces)


def _one(piece: Piece) -> None:
    reading = newest_reading(piece)
    try:
        picture = None if reading is None else view_picture(reading.id)
    except CatalogError as error:
        failure(error)
        picture = None
    if picture is not None:
        with st.container(key=f"gb_compared_{piece.id}"):
            st.image(picture, width="stretch", alt=piece_alt(piece))
    if st.button(plain(piece.code), key=f"open_{piece.code}", type="tertiary"):
        del st.query_params["compare"]
        state.choose_piece(piece.code)
        st.rerun()
    st.html(f'<span class="gb-line">{escape(glaze_words(piece))}</span>')
    if reading is not None:
        if reading.tile.glaze is not None:
            lab = reading.tile.glaze.lab
            st.html(swatch(hex_of(lab), lab_words(lab)))
            if reading.calibration_kind == "none":
                st.html(note("Colour as the phone gave it: no card in the photo."))
        lines = [finish_words(reading.tile.gloss), *(standing_faults(piece) or ["no fault seen"])]
        st.html("".join(f'<span class="gb-line">{escape(line)}</span>' for line in lines))


def _colours(found: Comparison, pieces: list[Piece]) -> None:
    st.subheader("How far apart the colours are")
    st.caption("CIEDE2000 between the glaze colours of each two.")
    rows = "".join(
        f"<tr><th scope='row'>{escape(one)} and {escape(two)}</th><td class='gb-num'>"
        + ("not measured" if far is None else f"{number(far, 1)}: {difference_words(far)}")
        + "</td></tr>"
        for one, two, far in found.apart
    )
    st.html(f'<table class="gb-facts">{rows}</table>')
    kinds = {r.calibration_kind for p in pieces if (r := newest_reading(p)) is not None}
    if len(kinds) > 1:
        st.html(
            note("These photos were not all corrected in the same way: small differences may be the photo’s.")
        )


def _differences(found: Comparison, pieces: list[Piece]) -> None:
    st.subheader("What differs in clay, glaze and firing")
    if not found.differing:
        st.write("Nothing that is written down differs.")
    else:
        head = "".join(f"<th scope='col'>{escape(piece.code)}</th>" for piece in pieces)
        rows = "".join(
            f"<tr><th scope='row'>{escape(what)}</th>"
            + "".join(f"<td>{escape(word)}</td>" for word in words)
            + "</tr>"
            for what, words in found.differing
        )
        table = f'<table class="gb-facts gb-places"><tr><td></td>{head}</tr>{rows}</table>'
        st.html(
            '<div class="gb-wide" tabindex="0" role="region" aria-label="what differs, piece by piece">'
            f"{table}</div>"
        )
    if found.alike:
        st.caption("The same for all: " + "; ".join(found.alike) + ".")
