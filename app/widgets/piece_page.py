"""One piece opened: its picture with marks, its reading in words, what it is made of, a person's word."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue, overlay_layers, view_picture
from app.services.studio import METHODS, day_words, glaze_layer, latest_glazes
from app.widgets.allowed import allowed
from app.widgets.bench_history import bench_history
from app.widgets.face_colours import face_colours
from app.widgets.markup import advice_note, facts_table, plain
from app.widgets.pieces import failure, layer_words, piece_alt, reading_words, standing_faults
from app.widgets.tell_more import tell_more
from app.widgets.zoom import zoom_picture
from app.words import flag_advice
from app.words.choices import figure
from catalog.errors import CatalogError
from catalog.records import KeptReading, Layer, Load, Piece, Recipe
from vision.errors import VisionError
from vision.reading import Flag

__all__ = ["marked_picture", "piece_page"]

FAULT_CHOICES = ("pinholed", "blistered", "cratered", "specked", "crazed", "crawled", "running", "shivering")
VERDICTS = {"present": "It is there", "absent": "It is not there", "intended": "It is meant to be so"}
SAID = {"present": "there", "absent": "not there", "intended": "meant to be so"}


def piece_page(piece: Piece) -> None:
    """Show all that is known of a piece and let it be corrected."""
    with st.container(horizontal=True, vertical_alignment="center"):
        if st.button("All pieces", icon=":material/arrow_back:"):
            state.choose_piece(None)
            st.rerun()
        st.header(plain(piece.code))
    picture, words = st.columns([5, 6], gap="large")
    with picture:
        marked_picture(piece)
    with words:
        _what_was_seen(piece)
        _made_of(piece)
        bench_history(piece)
        if allowed("piece", piece.id):
            tell_more(piece)
            _judge(piece)
            _correct(piece)
            _take_off(piece)


def marked_picture(piece: Piece) -> None:
    """Show the piece's newest picture, its marks drawn over it by kind where wanted."""
    if not piece.readings:
        st.write("No photo of this piece is kept.")
        return
    reading = _chosen_reading(piece)
    try:
        data = view_picture(reading.id)
    except CatalogError as error:
        failure(error)
        return
    if data is None:
        st.write("No picture of this piece is kept.")
        return
    layers: dict[str, bytes] = {}
    if st.toggle("Draw craze lines, bare patches and more"):
        try:
            with st.spinner("Reading the photo again"):
                layers = overlay_layers(reading)
        except (CatalogError, VisionError) as error:
            failure(error)
    zoom_picture(data, piece_alt(piece), reading.tile.marks, layers, key=f"zoom_{piece.code}_{reading.id}")


def _chosen_reading(piece: Piece) -> KeptReading:
    readings = [reading for reading in piece.readings if not reading.superseded] or list(piece.readings)
    if len(readings) == 1:
        return readings[0]
    names = {f"{i}. read on {day_words(r.read_at.date())}": r for i, r in enumerate(readings, start=1)}
    return names[st.selectbox("Photo", list(names), key=f"photo_{piece.code}")]


def _what_was_seen(piece: Piece) -> None:
    st.subheader("What was seen")
    if not piece.readings:
        return
    reading = piece.readings[0]
    faults = standing_faults(piece)
    if faults:
        st.markdown(f"**{plain('; '.join(faults))}**")
        if st.button("Ask why", type="primary", icon=":material/arrow_forward:"):
            state.choose_piece(piece.code)
            st.switch_page("views/why.py")
    reading_words(reading.tile, reading)
    face_colours(reading.tile)
    flags = dict.fromkeys((*reading.photo_flags, *reading.tile.flags))
    if reading.tile.beside_sha256 is not None:
        flags.pop(Flag.TWO_PHOTOS, None)  # said above, and no doubt
    if flags:
        with st.expander(
            "What this photo could not tell" if len(flags) > 1 else "One thing about this photo"
        ):
            st.html("".join(advice_note(flag_advice(flag)) for flag in flags))


def _made_of(piece: Piece) -> None:
    st.subheader("Made of")
    rows = [("Clay body", "not said" if piece.body is None else piece.body.name)]
    for number, layer in enumerate(piece.layers, start=1):
        name = "Glaze" if len(piece.layers) == 1 else f"Layer {number}"
        rows.append((name, layer_words(layer)))
    if not piece.layers:
        rows.append(("Glaze", "not said"))
    rows += _load_rows(piece.load, piece.shelf)
    st.html(facts_table(rows))
    for layer in piece.layers:
        if layer.recipe_id is not None:
            _recipe(catalogue().recipe(layer.recipe_id))


def _load_rows(load: Load | None, shelf: str | None) -> list[tuple[str, str]]:
    if load is None:
        return [("Firing", "not said")]
    aimed = "" if load.cone_aimed is None else f", aimed at cone {load.cone_aimed}"
    rows = [("Firing", f"{load.name}{aimed}"), ("Shelf", shelf or "not said")]
    reached = ", ".join(f"{result.shelf or 'kiln'} {result.cone}" for result in load.cones)
    rows.append(("Witness cones", reached or "not read"))
    return rows


def _recipe(recipe: Recipe) -> None:
    with st.expander(f"{plain(recipe.name)}, revision {recipe.revision}"):
        lines = [
            (line.material, f"{'+ ' if line.addition else ''}{figure(line.amount)}") for line in recipe.lines
        ]
        st.html(facts_table(lines))


def _judge(piece: Piece) -> None:
    st.subheader("Your word on it")
    st.caption("What you say outranks the reading.")
    with (
        st.form(f"judge_{piece.code}", border=False),
        st.container(horizontal=True, vertical_alignment="bottom"),
    ):
        fault = st.selectbox("Fault", FAULT_CHOICES, width=160)
        verdict = st.selectbox("Is it so?", list(VERDICTS), format_func=VERDICTS.__getitem__, width=190)
        if st.form_submit_button("Keep"):
            try:
                catalogue().add_judgement(piece.code, "fault", fault, verdict)
            except CatalogError as error:
                failure(error)
            else:
                st.rerun()
    for judgement in piece.judgements:
        if judgement.about != "fault":
            continue
        with st.container(horizontal=True, vertical_alignment="center"):
            said = SAID.get(judgement.verdict, judgement.verdict)
            st.write(f"You said: {plain(judgement.subject)} is {said}.")
            if st.button("Take back", key=f"back_{judgement.id}", type="tertiary"):
                catalogue().remove_judgement(judgement.id)
                st.rerun()


def _correct(piece: Piece) -> None:
    catalog = catalogue()
    with st.expander("Correct what it is made of"), st.form(f"correct_{piece.code}", border=False):
        bodies = {body.name: body.id for body in catalog.bodies()}
        loads = {load.name: load.id for load in catalog.loads("glaze")}
        glazes = latest_glazes(catalog)
        first = piece.layers[0] if piece.layers else Layer(None, "")
        body = _pick("Clay body", bodies, None if piece.body is None else piece.body.name)
        names = list(glazes) if not first.name or first.name in glazes else [first.name, *glazes]
        glaze = _pick("Glaze nearest the clay", names, first.name or None)
        coats = st.number_input("Coats", 1, 20, first.coats, placeholder="not said")
        method = _pick("Put on by", METHODS, first.method)
        load = _pick("Load", loads, None if piece.load is None else piece.load.name)
        shelf = st.text_input("Shelf", piece.shelf or "")
        notes = st.text_area("Notes", piece.notes, height=80)
        if not st.form_submit_button("Keep changes", type="primary"):
            return
        layers = list(piece.layers[1:])
        if glaze:
            changed = glaze_layer(catalog, glaze, coats=coats, method=method, glazes=glazes)
            layers.insert(0, _same_revision(changed, first))
        try:
            catalog.update_piece(
                piece.code,
                body_id=bodies.get(body or ""),
                layers=layers,
                load_id=loads.get(load or ""),
                shelf=shelf,
                notes=notes,
            )
        except CatalogError as error:
            failure(error)
        else:
            st.rerun()


def _take_off(piece: Piece) -> None:
    if st.button("Take it off the shelf", type="tertiary", icon=":material/inventory_2:"):
        catalogue().delete_piece(piece.code)
        state.remember("taken_off", piece.code)
        state.choose_piece(None)
        st.rerun()


def _same_revision(changed: Layer, before: Layer) -> Layer:
    """Keep the revision a piece was glazed from when only coats or method were corrected."""
    if changed.name != before.name:
        return changed
    return Layer(before.recipe_id, before.name, changed.coats, changed.method, before.raw_thickness_mm)


def _pick(label: str, options, kept: str | None) -> str | None:
    names = list(options)
    return st.selectbox(
        label, names, index=names.index(kept) if kept in names else None, placeholder="not said"
    )
