"""Match: a colour or palette named, typed or clicked on a picture, and the tiles that come nearest to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st

from app import state
from app.address import ask, first, tell
from app.cache import catalogue
from app.services.colours import hex_of
from app.widgets.board import board
from app.widgets.first_steps import first_steps
from app.widgets.markup import note, palette_strip, swatch
from app.widgets.pieces import failure
from app.widgets.wanted_colour import asked_like, wanted_colour
from app.words.choices import number, percent
from app.words.measures import difference_words, lab_words
from catalog.errors import CatalogError
from catalog.palette_match import PaletteMatch, match_palette
from catalog.piece_search import PieceFilter
from catalog.records import FINISHES, ColourMatch
from catalog.search import match_colour
from vision.reading import Lab, PaletteEntry

NEAR = 12.0  # CIEDE2000 beyond which the nearest tile is called far: the last step of `difference_words`


SHOWN = (6, 12, 24)


def limits() -> dict[str, object]:
    """Show what the tiles found must be; the address says it too."""
    catalog = catalogue()
    bodies = {body.name: body.id for body in catalog.bodies()}
    cones = list(dict.fromkeys(load.cone_aimed for load in catalog.loads() if load.cone_aimed))
    with st.container(horizontal=True):
        body = _limit("Clay body", list(bodies), "body", 190)
        cone = _limit("Cone aimed at", cones, "cone", 150)
        finish = _limit("Finish", FINISHES, "finish", 140)
        shown = ask("show", 12, int)
        first("match_show", shown if shown in SHOWN else 12)
        limit = st.selectbox("Show", SHOWN, format_func=lambda n: f"{n} nearest", width=140, key="match_show")
        tell("show", limit, None if limit == 12 else str(limit))
    with st.container(horizontal=True):
        faultless = _only("Without faults", "faultless")
        corrected = _only("Only corrected colours", "corrected")
    return {
        "body_id": bodies.get(body or ""),
        "cone": cone,
        "finish": finish,
        "faulty": False if faultless else None,
        "calibrated_only": corrected,
        "limit": limit,
    }


def _limit(label: str, options: Sequence[str], name: str, width: int) -> str | None:
    first(f"match_{name}", ask(name, None), options)
    chosen = st.selectbox(label, options, index=None, placeholder="any", width=width, key=f"match_{name}")
    tell(name, chosen, chosen)
    return chosen


def _only(label: str, name: str) -> bool:
    first(f"match_{name}", ask(name, False, lambda text: text == "yes"))
    chosen = st.checkbox(label, key=f"match_{name}")
    tell(name, chosen, "yes" if chosen else None)
    return chosen


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
    words = f"{number(far, 1)} away: {difference_words(round(far, 1))}"
    if match.calibration_kind == "none":
        return f"{words}; its colour is not corrected, so take this with care"
    if isinstance(match, ColourMatch) and match.fraction < 0.5:
        words += f"; on {percent(match.fraction)} of the face"
    return f"{words} ({_RESTS_ON[match.calibration_kind]})"


def _search(named: Lab | tuple[PaletteEntry, ...], chosen: dict[str, Any]):
    if isinstance(named, Lab):
        return match_colour(catalogue(), named, **chosen)
    filters = PieceFilter(
        body_id=chosen["body_id"], cone=chosen["cone"], finish=chosen["finish"], faulty=chosen["faulty"]
    )
    return match_palette(
        catalogue(),
        named,
        limit=chosen["limit"],
        filters=filters,
        calibrated_only=chosen["calibrated_only"],
        leave_out=asked_like(),
    )


def show() -> None:
    """Show the search by colour."""
    st.title("Match")
    if not catalogue().count_pieces():
        first_steps()
        return
    named = wanted_colour()
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
