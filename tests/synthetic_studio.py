"""A studio made of records, for tests: one clay, a few glazes, loads with witness cones."""

from __future__ import annotations

from datetime import UTC, date, datetime

from catalog.records import Body, ConeResult, KeptReading, Layer, Load, Piece, Recipe, RecipeLine, Segment
from vision.reading import (
    Crawling,
    Crazing,
    FaultCall,
    Finish,
    GlazeColour,
    Gloss,
    Lab,
    Mark,
    MarkKind,
    Subject,
    TileReading,
)

WHEN = datetime(2026, 10, 20, 9, 0, tzinfo=UTC)

WHITE = Body(1, "White stoneware", "stoneware", rated_cone="6", absorption_pct=1.8)
DARK = Body(2, "Dark stoneware", "dark_stoneware", rated_cone="5", facts={"body.dark_stained": True})

CLEAR = Recipe(
    1,
    "Rain clear",
    1,
    (
        RecipeLine("potash feldspar", 40.0),
        RecipeLine("china clay", 10.0),
        RecipeLine("whiting", 20.0),
        RecipeLine("silica", 30.0),
    ),
    cone_low="5",
    cone_high="6",
)
RECIPES = {1: CLEAR}

SCHEDULE = (Segment(80, 120, 30), Segment(150, 1100), Segment(70, 1215, 10))


def load(number=1, cones=(("middle", "8"),), schedule=SCHEDULE, **fields):
    return Load(
        number,
        "Glaze firing",
        "glaze",
        "Small electric kiln",
        fired_on=date(2026, 10, 19),
        cone_aimed=fields.pop("cone_aimed", "6"),
        cones=tuple(ConeResult(shelf, cone) for shelf, cone in cones),
        atmosphere="oxidation",
        schedule=tuple(schedule),
        **fields,
    )


def marks(kind, points, diameter_mm=1.0):
    return tuple(Mark(kind, x * 10, y * 10, diameter_mm * 10, 0.9, x, y, diameter_mm) for x, y in points)


def tile_reading(found=(), faults=(), area_cm2=40.0, **fields):
    counts = {str(kind): 0.0 for kind in MarkKind}
    for mark in found:
        counts[str(mark.kind)] += 1.0 / area_cm2
    return TileReading(
        subject=Subject.TILE,
        outline_px=((0, 0), (500, 0), (500, 1000), (0, 1000)),
        glaze=GlazeColour(Lab(60, 0, 0), (1, 1, 1), area_cm2=area_cm2),
        body=None,
        gloss=fields.pop("gloss", Gloss(0.7, Finish.GLOSS, 0.9)),
        marks=tuple(found),
        density_per_cm2=counts,
        crazing=fields.pop("crazing", Crazing(False, 0.02, 0.0, None)),
        crawling=fields.pop("crawling", Crawling(False, 0.02, 0.0, 0)),
        faults=tuple(FaultCall(name, 0.9) for name in faults),
        width_mm=50.0,
        height_mm=100.0,
        **fields,
    )


def kept(tile, number=1, **fields):
    return KeptReading(number, "0" * 64, 0, "card", {}, WHEN, tile, **fields)


def piece(number=1, faults=("blistered",), **fields):
    given = fields.pop("reading", tile_reading(faults=faults))
    return Piece(
        number,
        fields.pop("code", f"T-{number:04d}"),
        fields.pop("kind", "tile"),
        body=fields.pop("body", WHITE),
        layers=fields.pop("layers", (Layer(1, "Rain clear", 2, "dip", 0.6),)),
        load=fields.pop("load", load()),
        shelf=fields.pop("shelf", "middle"),
        readings=fields.pop("readings", (kept(given, number),)),
        **fields,
    )
