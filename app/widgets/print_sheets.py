"""The sheets to print: labels, care notes, reports, trial sheets; each as a file to download."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from app import state
from app.cache import catalogue
from app.services.bench import kept_bucket_label
from app.services.printing import bucket_label, care_note, piece_label, piece_report, trial_sheet
from app.sheets.care_note import care_notes_pdf
from app.sheets.labels import GRIDS, Label, LabelGrid, label_grid, labels_pdf
from app.sheets.lettering import uncovered
from app.sheets.paper import PAPERS
from app.sheets.report import reports_pdf
from app.sheets.trial_sheet import trial_pdf
from app.widgets.allowed import allowed
from app.widgets.choose_pieces import choose_pieces
from app.widgets.markup import note, plain
from app.widgets.pieces import failure
from app.words.bench import bucket_words
from app.words.causes import sentence
from catalog.errors import CatalogError

__all__ = ["bucket_labels", "care_notes", "labels", "reports", "trial_sheets"]

_OWN = "A grid of your own"
_REPORTS_MOST = 40


def _file(words: str, pdf: bytes, name: str) -> None:
    st.download_button(words, pdf, name, "application/pdf", type="primary", icon=":material/download:")
    st.caption("Print at 100 %, never “fit to page”; where the sheet has a rule, it must measure 100 mm.")


def _paper(key: str) -> str:
    names = list(PAPERS)
    kept = state.remembered("paper", names[0])
    paper = st.segmented_control("Paper", names, default=kept, key=f"paper_{key}") or names[0]
    state.remember("paper", paper)
    return paper


def _grid(key: str) -> LabelGrid | None:
    names = [*GRIDS, _OWN]
    kept = state.remembered("grid", names[0])
    chosen = st.selectbox(
        "Sheet of labels",
        names,
        index=names.index(kept) if kept in names else 0,
        format_func=lambda name: name if name == _OWN else _grid_words(name),
        key=f"grid_{key}",
        width=420,
    )
    state.remember("grid", chosen)
    if chosen != _OWN:
        return GRIDS[chosen]
    paper = _paper(f"grid_{key}")
    with st.container(horizontal=True):
        columns = st.number_input("Columns", 1, 12, state.remembered("columns", 3), width=130)
        rows = st.number_input("Rows", 1, 40, state.remembered("rows", 8), width=130)
        wide = st.number_input("Label width, mm", 18.0, 210.0, state.remembered("wide", 63.0), 0.1, width=150)
        high = st.number_input("Label height, mm", 9.0, 280.0, state.remembered("high", 34.0), 0.1, width=150)
        across = st.number_input("Gap across, mm", 0.0, 30.0, state.remembered("across", 2.5), 0.1, width=150)
        down = st.number_input("Gap down, mm", 0.0, 30.0, state.remembered("down", 0.0), 0.1, width=150)
    for name, value in (("columns", columns), ("rows", rows), ("wide", wide), ("high", high)):
        state.remember(name, value)
    state.remember("across", across)
    state.remember("down", down)
    try:
        return label_grid(paper, columns, rows, wide, high, gap_x_mm=across, gap_y_mm=down)
    except ValueError as error:
        st.html(note(f"{sentence(str(error))} Make a label smaller, or take fewer of them."))
        return None


def _grid_words(name: str) -> str:
    kind = "Plain paper, to cut: " if name.startswith("tile strips") else "Ready-cut: "
    return kind + GRIDS[name].words()


def _told(texts: Sequence[str]) -> None:
    """Say which letters no font here covers."""
    lost = uncovered("".join(texts))
    if lost:
        st.html(
            note(
                f"No font on this computer covers {lost}; a box stands in its place. "
                "Install a font for that alphabet and make the sheet again."
            )
        )


def _labels_file(found: Sequence[Label], key: str) -> None:
    grid = _grid(key)
    if grid is None or not found:
        return
    first = st.number_input(
        "First free label on the sheet", 1, grid.per_page, 1, key=f"first_{key}_{grid.words()}", width=220
    )
    _told([line for label in found for line in label.lines])
    words = "1 label" if len(found) == 1 else f"{len(found)} labels"
    _file(f"{words} (PDF)", labels_pdf(found, grid, first=first - 1), "glostbook-labels.pdf")


def labels() -> None:
    """Show labels for pieces filed already, or for pieces still to be made."""
    ways = ("Pieces in the catalogue", "Pieces still to be made")
    way = st.segmented_control("Labels for", ways, default=state.remembered("labels_for", ways[0])) or ways[0]
    state.remember("labels_for", way)
    if way == ways[0]:
        _labels_file([piece_label(piece) for piece in choose_pieces("labels")], "pieces")
        return
    if not allowed("piece"):
        return
    st.caption(
        "New codes are set aside for you: nobody gets them twice. A photo with the label files itself."
    )
    with st.container(horizontal=True, vertical_alignment="bottom"):
        count = st.number_input("How many", 1, 500, 24, width=130)
        kind = st.selectbox(
            "For", ("tile", "ware"), format_func={"tile": "tiles", "ware": "ware"}.__getitem__, width=140
        )
        if st.button("Set codes aside"):
            try:
                state.remember("new_codes", catalogue().reserve_codes(count, kind))
            except CatalogError as error:
                failure(error)
                return
    codes = state.remembered("new_codes", ())
    if codes:
        st.write(plain(f"{codes[0]} to {codes[-1]}"))
        _labels_file([Label(code) for code in codes], "new")


def bucket_labels() -> None:
    """Show labels for buckets: the glaze as text, and a code that a phone reads."""
    catalog = catalogue()
    kept = {bucket.code: bucket for bucket in catalog.bench.buckets()}
    if kept:
        ways = ("Buckets with a code", "Glazes by name")
        way = st.segmented_control("Labels for", ways, default=state.remembered("buckets_for", ways[0]))
        state.remember("buckets_for", way or ways[0])
        if way != ways[1]:
            codes = st.multiselect(
                "Buckets",
                list(kept),
                default=list(kept),
                format_func=lambda code: bucket_words(kept[code]),
                key="buckets_kept",
            )
            _labels_file([kept_bucket_label(kept[code]) for code in codes], "kept_buckets")
            return
    names = [recipe.name for recipe in catalog.recipes()]
    if not names:
        st.write("No glaze is kept yet. Make one under Glazes, or a bucket under Bench.")
        return
    chosen = st.multiselect("Buckets of", names, default=names, key="buckets_of")
    newest = {recipe.name: recipe for recipe in catalog.recipes()}
    found = []
    for name in chosen:
        recipe = newest[name]
        cones = "" if recipe.cone_low is None else f"cone {recipe.cone_low} to {recipe.cone_high}"
        lines = [f"revision {recipe.revision}", *([cones] if cones else [])]
        found.append(bucket_label(name, name, lines))
    _labels_file(found, "buckets")


def care_notes() -> None:
    """Show the notes that go with ware."""
    st.caption(
        "A note says what a piece may be used for as things are known now, with its number, so that "
        "it can be found again. It never promises anything."
    )
    pieces = choose_pieces("notes", "ware")
    if not pieces:
        return
    maker = st.text_input("Your name and place, as they shall stand on it", state.remembered("maker", ""))
    state.remember("maker", maker)
    paper = _paper("notes")
    catalog = catalogue()
    made = [care_note(catalog, piece, maker) for piece in pieces]
    _told([maker, *(one.title for one in made)])
    words = "1 note" if len(made) == 1 else f"{len(made)} notes"
    _file(f"{words} (PDF)", care_notes_pdf(made, paper), "glostbook-care-notes.pdf")


def reports() -> None:
    """Show reports of pieces, a page each, with the picture at true size."""
    pieces = choose_pieces("reports")
    if not pieces:
        return
    if len(pieces) > _REPORTS_MOST:
        st.write(f"{len(pieces)} pieces are many for one file. Choose a load, or up to {_REPORTS_MOST}.")
        return
    paper = _paper("reports")
    catalog = catalogue()
    if st.button("Make the report"):
        made = []
        for piece in pieces:
            try:
                made.append(piece_report(catalog, piece))
            except CatalogError as error:
                failure(error)
        _told([one.title for one in made])
        words = "1 page" if len(made) == 1 else f"{len(made)} pages"
        _file(f"{words} (PDF)", reports_pdf(made, paper), "glostbook-report.pdf")


def trial_sheets() -> None:
    """Show the sheet of a planned trial."""
    trials = {trial.id: trial for trial in catalogue().casebook.trials()}
    if not trials:
        st.write(
            "No trial is planned yet. Ask under Why what would tell the causes apart, and plan it there."
        )
        return
    number = st.selectbox(
        "Trial",
        list(trials),
        format_func=lambda i: f"{i}. {sentence(trials[i].plan.get('trial', ''))} ({trials[i].code})",
    )
    paper = _paper("trial")
    sheet = trial_sheet(trials[number])
    _told([sheet.title, *(words for _, words in sheet.rows)])
    _file("Trial sheet (PDF)", trial_pdf(sheet, paper), f"glostbook-trial-{number}.pdf")
