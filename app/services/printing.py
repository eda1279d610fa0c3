"""What goes on paper, gathered from the catalogue: labels, care notes, reports, trial sheets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from app.services.colours import hex_of
from app.services.pictures import shown_view
from app.services.studio import load_title
from app.sheets.care_note import CareNote
from app.sheets.labels import Label
from app.sheets.report import PieceReport
from app.sheets.trial_sheet import TrialSheet
from app.words.causes import WARE_WORDS, sentence
from app.words.choices import day_words, figure
from app.words.measures import (
    calibration_words,
    colour_words,
    crawling_words,
    crazing_words,
    density_words,
    finish_words,
)
from catalog.faults import effective_faults
from catalog.records import Piece
from catalog.store import Catalog

if TYPE_CHECKING:
    from catalog.casebook.records import KeptTrial

__all__ = ["bucket_label", "care_note", "piece_label", "piece_report", "piece_title", "trial_sheet"]


def _glazes(piece: Piece) -> str:
    return " over ".join(layer.name for layer in reversed(piece.layers)) or "glaze not said"


def piece_title(piece: Piece, ware: str | None = None) -> str:
    """Say what a piece is: class of ware, glaze, clay."""
    what = WARE_WORDS.get(ware or "", "tile" if piece.kind == "tile" else "piece")
    clay = "" if piece.body is None else f" on {piece.body.name}"
    return f"{what[:1].upper()}{what[1:]}: {_glazes(piece)}{clay}"


def piece_label(piece: Piece) -> Label:
    """Give a piece's label: its code, glaze, clay and load."""
    lines = [_glazes(piece)]
    if piece.body is not None:
        lines.append(piece.body.name)
    if piece.load is not None:
        lines.append(load_title(piece.load))
    return Label(piece.code, tuple(lines))


def bucket_label(code: str, glaze: str, lines: Iterable[str] = ()) -> Label:
    """Give a bucket's label: its code, the glaze, and what else is to be read on it."""
    return Label(code, (glaze, *lines))


def care_note(catalog: Catalog, piece: Piece, maker: str = "") -> CareNote:
    """Give the note that goes with a piece. It says what speaks against use and promises nothing."""
    from catalog.casebook.case import use_of

    use = use_of(catalog, piece)
    load = piece.load
    fired = "" if load is None or load.fired_on is None else f"Fired on {day_words(load.fired_on)}"
    return CareNote(
        piece.code,
        piece_title(piece, use.ware if piece.kind == "ware" else None),
        fired,
        sentence(use.statement.use),
        use.statement.next_step,
        maker,
    )


def piece_report(catalog: Catalog, piece: Piece) -> PieceReport:
    """Give the report of a piece. Raises the catalogue's photo errors where its picture is damaged."""
    reading = piece.readings[0] if piece.readings else None
    blocks: list[tuple[str, tuple[tuple[str, str], ...]]] = []
    picture, scale = None, None
    colours: tuple[tuple[str, float], ...] = ()
    if reading is not None:
        tile = reading.tile
        picture = shown_view(catalog, reading.id)
        scale = tile.view_mm_per_px
        counts: dict[str, int] = {}
        for mark in tile.marks:
            counts[str(mark.kind)] = counts.get(str(mark.kind), 0) + 1
        seen = [("Colour", colour_words(tile.glaze)), ("Finish", finish_words(tile.gloss))]
        seen += [("", words) for words in density_words(tile.density_per_cm2, counts)]
        seen += [("", crazing_words(tile.crazing)), ("", crawling_words(tile.crawling))]
        seen.append(
            ("", calibration_words(reading.calibration_kind, reading.residual_delta_e_00, reading.taught))
        )
        blocks.append(("What was seen", tuple(seen)))
        if tile.glaze is not None:
            colours = tuple((hex_of(entry.lab), entry.fraction) for entry in tile.glaze.palette)
    faults = tuple(
        ("", f"{f.fault}{', you say' if f.by == 'person' else ''}") for f in effective_faults(piece)
    )
    blocks.append(("Faults that stand", faults or (("", "none"),)))
    made = [("Clay", "not said" if piece.body is None else piece.body.name)]
    for layer in piece.layers:
        coats = "" if layer.coats is None else f", coats: {layer.coats}"
        made.append(("Layer", f"{layer.name}{coats}{'' if layer.method is None else f', {layer.method}'}"))
    blocks.append(("Made of", tuple(made)))
    blocks.append(("Firing", _firing(piece)))
    for number in dict.fromkeys(x.recipe_id for x in piece.layers if x.recipe_id is not None):
        recipe = catalog.recipe(number)
        lines = tuple((x.material, f"{'+ ' if x.addition else ''}{figure(x.amount)}") for x in recipe.lines)
        blocks.append((f"{recipe.name}, revision {recipe.revision}", lines))
    if piece.notes:
        blocks.append(("Notes", (("", piece.notes),)))
    return PieceReport(piece.code, piece_title(piece), picture, scale, colours, tuple(blocks))


def _firing(piece: Piece) -> tuple[tuple[str, str], ...]:
    load = piece.load
    if load is None:
        return (("", "not said"),)
    cones = ", ".join(f"{c.shelf or 'kiln'} {c.cone}" for c in load.cones) or "not read"
    rows = [
        ("Load", load_title(load)),
        ("Kiln", load.kiln or "not said"),
        ("Shelf", piece.shelf or "not said"),
    ]
    return (*rows, ("Aimed at cone", load.cone_aimed or "not said"), ("Witness cones", cones))


def trial_sheet(trial: KeptTrial) -> TrialSheet:
    """Give the sheet of a planned trial."""
    expected = {True: "shows it", False: "clean", None: "not known yet"}
    plan = trial.plan
    asked = (
        ("Make", "pieces"),
        ("Only this differs", "differs"),
        ("All else alike", "alike"),
        ("If so", "if_so"),
        ("If not", "if_not"),
    )
    rows: Sequence[tuple[str, str]] = [(name, plan[key]) for name, key in asked if plan.get(key)]
    foretold = f"{trial.prediction * 100:.0f} of 100 that it points to this cause"
    return TrialSheet(
        f"Trial {trial.id}: {sentence(plan.get('trial', ''))}",
        f"About {trial.code}. Planned on {day_words(trial.planned_at.date())}.",
        (*rows, ("Prediction, before the firing", foretold)),
        tuple((p.code, p.side, expected[p.shows_if_so]) for p in trial.pieces),
    )
