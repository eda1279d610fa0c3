"""The command that finds filed tiles by a colour, a palette, or likeness to another tile."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import Any

from app.commands.asking import write_json
from app.commands.opening import opened
from app.services.colours import lab_of_hex, lab_of_lch, palette_of_piece, palette_of_text
from app.words.measures import difference_words
from catalog.errors import InvalidRecordError
from catalog.palette_match import PaletteMatch, match_palette
from catalog.piece_search import PieceFilter
from catalog.records import ColourMatch, Piece
from catalog.search import match_colour
from catalog.store import Catalog
from vision.reading import Lab, PaletteEntry

__all__ = ["match"]


def match(args: argparse.Namespace) -> int:
    """Give the filed pieces nearest to what was named."""
    with opened(args) as catalog:
        wanted = _named(args, catalog)
        filters = PieceFilter(
            body_id=_body(catalog, args.body),
            cone=args.cone,
            faulty=False if args.faultless else None,
            finish=args.finish,
        )
        found: Sequence[ColourMatch | PaletteMatch]
        if isinstance(wanted, Lab):
            found = match_colour(
                catalog,
                wanted,
                limit=args.limit,
                calibrated_only=args.corrected,
                body_id=filters["body_id"],
                cone=filters["cone"],
                faulty=filters["faulty"],
                finish=filters["finish"],
            )
        else:
            found = match_palette(
                catalog,
                wanted,
                limit=args.limit,
                filters=filters,
                calibrated_only=args.corrected,
                leave_out=args.like and catalog.piece(args.like).code,
            )
        anything = catalog.count_pieces() > 0
    if args.json:
        write_json([_record(m) for m in found])
        return 0
    if not found:
        sys.stderr.write(
            "No filed piece passes these limits. Take one away.\n"
            if anything
            else "No piece is filed yet. File some with: glostbook unload PHOTO... --load NAME\n"
        )
    for m in found:
        glazes = " under ".join(layer.name for layer in m.piece.layers) or "glaze not said"
        uncorrected = ", colour not corrected" if m.calibration_kind == "none" else ""
        far = _distance(m)
        sys.stdout.write(f"{m.piece.code}\t{far:.1f}\t{difference_words(far)}{uncorrected}\t{glazes}\n")
    return 0


def _named(args: argparse.Namespace, catalog: Catalog) -> Lab | tuple[PaletteEntry, ...]:
    try:
        if args.lab is not None:
            return Lab(*args.lab)
        if args.lch is not None:
            return lab_of_lch(*args.lch)
        if args.hex is not None:
            return lab_of_hex(args.hex)
        if args.palette is not None:
            return palette_of_text(args.palette)
    except ValueError as error:
        raise InvalidRecordError(
            "colour", args.palette or args.hex, "#345a7c, or #345a7c 60, #d8cfc0 40"
        ) from error
    palette = palette_of_piece(catalog.piece(args.like))
    if not palette:
        raise InvalidRecordError("like", args.like, "a tile whose glaze colour was measured")
    return palette


def _body(catalog: Catalog, name: str | None) -> int | None:
    if name is None:
        return None
    for body in catalog.bodies():
        if body.name.casefold() == name.strip().casefold():
            return body.id
    known = ", ".join(body.name for body in catalog.bodies())
    raise InvalidRecordError("body", name, f"a clay body of this catalogue: {known or 'none is kept yet'}")


def _distance(found: ColourMatch | PaletteMatch) -> float:
    return found.delta_e_00 if isinstance(found, ColourMatch) else found.distance


def _record(found: ColourMatch | PaletteMatch) -> dict[str, Any]:
    piece = found.piece
    told: dict[str, Any] = {
        "tile": piece.code,
        "delta_e_00": round(_distance(found), 3),
        "difference": difference_words(_distance(found)),
        "calibration": found.calibration_kind,
    }
    if isinstance(found, ColourMatch):
        told |= {
            "lab": [round(value, 2) for value in found.lab.as_tuple()],
            "fraction": round(found.fraction, 4),
            "outdated": found.outdated,
        }
    return told | _made_of(piece)


def _made_of(piece: Piece) -> dict[str, Any]:
    return {
        "glazes": [layer.name for layer in piece.layers],
        "body": None if piece.body is None else piece.body.name,
        "load": None if piece.load is None else piece.load.name,
    }
