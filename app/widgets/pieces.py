"""A filed piece on the screen: as it stands on the shelf, and its reading in words."""

from __future__ import annotations

from collections import Counter
from html import escape

import streamlit as st

from app.services.colours import hex_of
from app.widgets.markup import advice_note, palette_strip, swatch
from app.words import error_advice
from app.words.choices import length
from app.words.face import opacity_words
from app.words.measures import (
    calibration_words,
    colour_words,
    crawling_words,
    crazing_words,
    density_words,
    fault_words,
    finish_words,
    height_words,
    pair_words,
    running_words,
)
from catalog.faults import effective_faults
from catalog.records import KeptReading, Layer, Piece
from vision.reading import TileReading

__all__ = ["failure", "glaze_words", "layer_words", "piece_alt", "reading_words", "standing_faults"]


def layer_words(layer: Layer) -> str:
    """Give one layer as "Slate blue, 2 coats, dip"."""
    parts = [layer.name]
    if layer.coats is not None:
        parts.append("1 coat" if layer.coats == 1 else f"{layer.coats} coats")
    if layer.method:
        parts.append(layer.method)
    if layer.raw_thickness_mm is not None:
        parts.append(f"{length(layer.raw_thickness_mm)} raw")
    return ", ".join(parts)


def glaze_words(piece: Piece) -> str:
    """Give a piece's glazes from the clay outward."""
    return " under ".join(layer.name for layer in piece.layers) or "glaze not said"


def piece_alt(piece: Piece) -> str:
    """Give what a picture of the piece shows, for those who do not see it."""
    clay = "" if piece.body is None else f" on {piece.body.name}"
    return f"{piece.code}: {glaze_words(piece)}{clay}"


def reading_words(tile: TileReading, kept: KeptReading | None = None) -> None:
    """Show a reading: colour with its doubt, palette, finish, marks, crazing, crawling."""
    if tile.glaze is not None:
        st.html(swatch(hex_of(tile.glaze.lab), colour_words(tile.glaze)))
        if len(tile.glaze.palette) > 1:
            st.html(palette_strip([(hex_of(entry.lab), entry.fraction) for entry in tile.glaze.palette]))
    else:
        st.write(colour_words(tile.glaze))
    counts = Counter(str(mark.kind) for mark in tile.marks)
    lines = [finish_words(tile.gloss), *density_words(tile.density_per_cm2, counts)]
    lines += [crazing_words(tile.crazing), crawling_words(tile.crawling)]
    if tile.running is not None:
        lines.append(running_words(tile.running))
    if tile.face_colours.opacity is not None:
        lines.append(opacity_words(tile.face_colours.opacity))
    if tile.beside_sha256 is not None:
        lines.append(pair_words(tile))
    if tile.plane_height is not None:
        lines.append(height_words(tile.plane_height))
    if tile.smallest_mark_mm is not None:
        lines.append(f"marks under {length(tile.smallest_mark_mm, 2)} cannot be seen in this photo")
    if kept is not None:
        lines.append(calibration_words(kept.calibration_kind, kept.residual_delta_e_00, kept.taught))
    st.html("".join(f'<span class="gb-line">{escape(line)}</span>' for line in lines))


def standing_faults(piece: Piece) -> list[str]:
    """Give the faults that stand, in words."""
    return [fault_words(fault.fault, fault.probability, fault.by) for fault in effective_faults(piece)]


def failure(error: Exception) -> None:
    """Show an error of the catalogue or of reading as advice."""
    st.html(advice_note(error_advice(error)))
