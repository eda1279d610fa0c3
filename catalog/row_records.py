"""Rows to records: the one place where what the database holds becomes what everybody else sees."""

from __future__ import annotations

from collections.abc import Mapping

from catalog.records import (
    Body,
    ConeResult,
    Judgement,
    KeptReading,
    Layer,
    Load,
    Piece,
    Recipe,
    RecipeLine,
    Segment,
)
from catalog.tables import BodyRow, JudgementRow, LayerRow, LoadRow, PieceRow, ReadingRow, RecipeRow
from vision.reading import Flag
from vision.reading_json import taught_from_dict, tile_from_dict

__all__ = ["RecordMaker", "body_record", "judgement_record", "load_record", "reading_record", "recipe_record"]


def body_record(row: BodyRow) -> Body:
    """Give the record of a clay body."""
    return Body(
        id=row.id,
        name=row.name,
        kind=row.kind,
        rated_cone=row.rated_cone,
        absorption_pct=row.absorption_pct,
        facts=dict(row.facts),
        notes=row.notes,
    )


def recipe_record(row: RecipeRow) -> Recipe:
    """Give the record of a recipe's revision."""
    return Recipe(
        id=row.id,
        name=row.name,
        revision=row.revision,
        lines=tuple(RecipeLine(line.material, line.amount, line.addition) for line in row.lines),
        cone_low=row.cone_low,
        cone_high=row.cone_high,
        intended=frozenset(row.intended),
        facts=dict(row.facts),
        notes=row.notes,
        created_at=row.created_at,
    )


def load_record(row: LoadRow) -> Load:
    """Give the record of a load."""
    return Load(
        id=row.id,
        name=row.name,
        kind=row.kind,
        kiln=row.kiln,
        fired_on=row.fired_on,
        cone_aimed=row.cone_aimed,
        cones=tuple(ConeResult(cone.shelf, cone.cone, cone.note) for cone in row.cones),
        atmosphere=row.atmosphere,
        schedule=tuple(Segment(s.rate_c_per_h, s.target_c, s.hold_min) for s in row.segments),
        facts=dict(row.facts),
        notes=row.notes,
    )


def layer_record(row: LayerRow) -> Layer:
    """Give the record of a layer."""
    return Layer(row.recipe_id, row.name, row.coats, row.method, row.raw_thickness_mm)


def reading_record(row: ReadingRow) -> KeptReading:
    """Give the record of a reading."""
    return KeptReading(
        id=row.id,
        photo_sha256=row.photo_sha256,
        tile_index=row.tile_index,
        calibration_kind=row.calibration_kind,
        method=dict(row.method),
        read_at=row.read_at,
        tile=tile_from_dict(row.tile),
        mm_per_px=row.mm_per_px,
        residual_delta_e_00=row.residual_delta_e_00,
        photo_flags=tuple(Flag(flag) for flag in row.photo_flags),
        view_sha256=row.view_sha256,
        superseded=row.superseded_by_id is not None,
        taught=None if row.taught is None else taught_from_dict(row.taught.taught),
    )


def judgement_record(row: JudgementRow) -> Judgement:
    """Give the record of a judgement."""
    return Judgement(row.id, row.about, row.subject, row.verdict, row.by, row.made_at, row.note)


class RecordMaker:
    """Makes pieces' records; a body or load that many pieces share is made once."""

    def __init__(self, glaze_effects: Mapping[str, frozenset[str]] | None = None) -> None:
        """Take the effects that glazes are meant to have, by casefolded name."""
        self._effects = glaze_effects or {}
        self._bodies: dict[int, Body] = {}
        self._loads: dict[int, Load] = {}

    def piece(self, row: PieceRow) -> Piece:
        """Give the record of a piece whose body, load, layers, readings and judgements are loaded."""
        intended: set[str] = set()
        for layer in row.layers:
            intended.update(self._effects.get(layer.name.casefold(), ()))
            if layer.recipe is not None:
                intended.update(layer.recipe.intended)
        return Piece(
            id=row.id,
            code=row.code,
            kind=row.kind,
            body=None if row.body is None else self._body(row.body),
            layers=tuple(layer_record(layer) for layer in row.layers),
            load=None if row.load is None else self._load(row.load),
            shelf=row.shelf,
            facts=dict(row.facts),
            readings=tuple(
                reading_record(reading) for reading in row.readings if reading.superseded_by_id != reading.id
            ),
            judgements=tuple(judgement_record(j) for j in row.judgements if j.removed_at is None),
            notes=row.notes,
            filed_at=row.filed_at,
            intended=frozenset(intended),
        )

    def _body(self, row: BodyRow) -> Body:
        if row.id not in self._bodies:
            self._bodies[row.id] = body_record(row)
        return self._bodies[row.id]

    def _load(self, row: LoadRow) -> Load:
        if row.id not in self._loads:
            self._loads[row.id] = load_record(row)
        return self._loads[row.id]
