"""Unload: photos of a fired load are read, corrected in one table and filed together."""

from __future__ import annotations

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.reading import ReadItem, read_item
from app.services.unloading import Pace, file_item, with_all
from app.services.uploads import accepted
from app.widgets.load_form import choose_load
from app.widgets.markup import advice_note, note, plain
from app.widgets.pieces import reading_words
from app.widgets.unload_table import edited_rows, say_for_all
from app.words import error_advice, flag_advice
from app.words.choices import size as size_words
from app.words.measures import calibration_words, subject_words
from catalog.errors import CatalogError

SUBJECTS = {"any": "Find out", "tile": "Flat tiles", "ware": "Ware", "patch": "Close-up of glaze"}


def read_new(work: state.Unloading) -> None:
    """Take photos in and read those that are new, with progress and the time left."""
    said = st.segmented_control(
        "What do the photos show?",
        list(SUBJECTS),
        default=state.remembered("subject", "any"),
        format_func=SUBJECTS.__getitem__,
    )
    state.remember("subject", said or "any")
    subject = None if said in (None, "any") else said
    given = st.file_uploader(
        "Photos of the fired pieces, with the reference card in view",
        accept_multiple_files=True,
        key=f"photos_{work.upload_round}",
    )
    if not given:
        return
    given, too_many = accepted(given)
    work.told = [] if too_many is None else [too_many]
    pace = Pace(len(given))
    bar = st.progress(0.0)
    cards = catalogue().cards.taught()
    for file in given:
        left = pace.left_words()
        bar.progress(pace.fraction, f"Reading {pace.done + 1} of {pace.total}: {plain(file.name)}. {left}")
        work.take(read_item(file.getvalue(), file.name, subject, cards))
        pace.step()
    work.upload_round += 1
    st.rerun()


def photo(work: state.Unloading, item: ReadItem, number: int) -> None:
    """Show one photo: outlines, what to know about it, each piece found."""
    with st.container(border=True):
        with st.container(horizontal=True, horizontal_alignment="distribute", vertical_alignment="center"):
            st.markdown(f"**Photo {number}** · {plain(item.name)}")
            with st.container(horizontal=True, width="content"):
                if item.advice is None:
                    _read_again(work, item)
                if st.button("Leave out", key=f"leave_{item.sha256}", type="tertiary"):
                    work.drop(item.sha256)
                    st.rerun()
        if item.advice is not None:
            st.html(advice_note(item.advice))
            return
        picture, pieces = st.columns([2, 3], gap="medium")
        with picture:
            st.image(
                item.preview, width="stretch", alt=f"{item.name} with each piece found outlined and numbered"
            )
            calibration = item.reading.calibration
            st.caption(
                calibration_words(calibration.kind, calibration.residual_delta_e_00, calibration.taught)
            )
            flags = dict.fromkeys((*item.reading.flags, *(f for t in item.reading.tiles for f in t.flags)))
            if flags:
                words = "1 thing to know" if len(flags) == 1 else f"{len(flags)} things to know"
                with st.expander(words, expanded=not item.reading.tiles):
                    st.html("".join(advice_note(flag_advice(flag)) for flag in flags))
        with pieces, st.container(horizontal=True, gap="medium"):
            for index, tile in enumerate(item.reading.tiles):
                with st.container(width=190, gap="small"):
                    size = "" if tile.width_mm is None else f", {size_words(tile.width_mm, tile.height_mm)}"
                    st.markdown(f"**{index + 1}** {subject_words(tile.subject)}{size}")
                    if item.views and index in item.views:
                        st.image(
                            item.views[index],
                            width=130,
                            alt=f"piece {index + 1} of {item.name}, straightened",
                        )
                    reading_words(tile)
        if item.trouble is not None:
            st.html(advice_note(item.trouble))


def _read_again(work: state.Unloading, item: ReadItem) -> None:
    """Show the ways to read a photo once more where the guess of what it shows was wrong."""
    with st.popover("Read it as", type="tertiary"):
        for subject, words in SUBJECTS.items():
            if st.button(words, key=f"as_{subject}_{item.sha256}", width="stretch"):
                with st.spinner("Reading it again"):
                    wanted = None if subject == "any" else subject
                    work.take(read_item(item.data, item.name, wanted, catalogue().cards.taught()))
                st.rerun()


def file_all(work: state.Unloading, load_id: int | None) -> None:
    """File every ticked piece; what fails stays here with its reason, the rest is kept."""
    taken = {str(row["code"]) for row in work.edited if row["code"]}
    for digest, item in list(work.items.items()):
        mine = [row for row in work.edited if row["digest"] == digest and row["file"]]
        if not mine:
            continue
        try:
            filing = file_item(catalogue(), item, mine, load_id, taken)
        except CatalogError as error:
            item.trouble = error_advice(error)
            continue
        work.told.append(_told(item.name, filing.added, filing.extended, filing.repeated))
        work.drop(digest)
    st.rerun()


def _told(name: str, added: tuple[str, ...], extended: tuple[str, ...], repeated: tuple[str, ...]) -> str:
    parts = []
    if added:
        parts.append(f"filed {', '.join(added)}")
    if extended:
        parts.append(f"added a reading to {', '.join(extended)}")
    if repeated:
        parts.append(f"{', '.join(repeated)} filed from this photo before, nothing added")
    return f"{name}: {'; '.join(parts)}."


def show() -> None:
    """Show the unloading in progress."""
    work = state.unloading()
    st.title("Unload")
    work.load_id = choose_load(work.load_id)
    if work.told:
        st.html("".join(note(told) for told in work.told))
        st.page_link("views/shelf.py", label="See them on the Shelf", icon=":material/arrow_forward:")
    read_new(work)
    if work.rows:
        _table(work)
    if work.items:
        st.header("Photo by photo")
    for number, item in enumerate(list(work.items.values()), start=1):
        photo(work, item, number)


def _table(work: state.Unloading) -> None:
    st.header("What was found")
    st.caption("Say once what all have in common, then correct single cells. Codes come from the labels.")
    said = say_for_all()
    if said is not None:
        work.set_rows(with_all(work.edited, said))
    work.edited = edited_rows(work.rows, f"table_{work.table_round}")
    count = sum(1 for row in work.edited if row["file"])
    words = "File 1 piece" if count == 1 else f"File all {count} pieces"
    if st.button(words, type="primary", disabled=not count):
        work.told.clear()
        file_all(work, work.load_id)


show()
