"""Rows of the workshop in and out: each function runs in the caller's session."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from catalog import studio, values
from catalog.body.measures import checked_figures
from catalog.columns import canonical_json
from catalog.errors import InvalidRecordError
from catalog.firing.bend import WitnessReading, read_shelves
from catalog.firing.cones import parse_cone
from catalog.glaze.analysis_sheet import AnalysisSheet, own_material
from catalog.records import ConeResult, Load
from catalog.row_records import load_record
from catalog.workshop_records import BodyMeasure, KeptLog, KeptMaterial
from catalog.workshop_tables import BodyMeasureRow, LoadBisqueRow, LoadLogRow, LoadWitnessRow, MaterialRow

__all__ = [
    "add_body_measure",
    "add_material",
    "bisque_id_of",
    "keep_log",
    "list_body_measures",
    "list_logs",
    "list_materials",
    "list_witnesses",
    "remove_body_measure",
    "remove_log",
    "set_bisque",
    "set_witnesses",
]

BY_ITS_LEAN = "by its lean"
"""Note of a shelf's cone that follows from cones as found; a cone typed by a person has another."""


# --- materials


def list_materials(session: Session, *, latest_only: bool) -> tuple[KeptMaterial, ...]:
    """Give the studio's own materials by name, the newest revision first."""
    query = select(MaterialRow).order_by(MaterialRow.name_key, MaterialRow.revision.desc())
    found = [_material(row) for row in session.scalars(query)]
    if not latest_only:
        return tuple(found)
    newest: dict[str, KeptMaterial] = {}
    for each in found:
        newest.setdefault(each.own.name.casefold(), each)
    return tuple(newest.values())


def add_material(session: Session, sheet: AnalysisSheet) -> KeptMaterial:
    """Keep a sheet as the material's next revision; the newest comes back where nothing differs."""
    name = values.checked_name("name", sheet.name)
    newest = session.scalar(
        select(MaterialRow)
        .where(MaterialRow.name_key == name.casefold())
        .order_by(MaterialRow.revision.desc())
        .limit(1)
    )
    own_material(sheet)
    row = MaterialRow(
        name=name if newest is None else newest.name,
        name_key=name.casefold(),
        revision=1 if newest is None else newest.revision + 1,
        oxides=dict(sheet.oxides_wt_pct),
        loi_pct=float(sheet.loi_pct),
        basis=sheet.basis,
        fluorine_pct=float(sheet.fluorine_pct),
        moisture_pct=sheet.moisture_pct,
        lot=sheet.lot.strip(),
        gas_like=sheet.gas_like,
        source=sheet.source.strip(),
    )
    if newest is not None and _content(newest) == _content(row):
        return _material(newest)
    session.add(row)
    session.flush()
    return _material(row)


def _content(row: MaterialRow) -> str:
    return canonical_json(
        [
            row.oxides,
            row.loi_pct,
            row.basis,
            row.fluorine_pct,
            row.moisture_pct,
            row.lot,
            row.gas_like,
            row.source,
        ]
    )


def _material(row: MaterialRow) -> KeptMaterial:
    sheet = AnalysisSheet(
        name=row.name,
        oxides_wt_pct=dict(row.oxides),
        loi_pct=row.loi_pct,
        basis=row.basis,
        fluorine_pct=row.fluorine_pct,
        moisture_pct=row.moisture_pct,
        lot=row.lot,
        gas_like=row.gas_like,
        source=row.source,
    )
    return KeptMaterial(row.id, sheet, own_material(sheet, row.revision), row.created_at)


# --- logs


def keep_log(
    session: Session, load_id: int, sha256: str, name: str, size_bytes: int, choice: Mapping[str, str]
) -> KeptLog:
    """Note a log's file with its load; an earlier one gives way, its file stays."""
    studio.load_row(session, load_id)
    row = session.get(LoadLogRow, load_id)
    if row is None:
        row = LoadLogRow(load_id=load_id)
        session.add(row)
    row.sha256, row.name, row.size_bytes, row.choice = sha256, name.strip(), size_bytes, dict(choice)
    session.flush()
    return _log(row)


def list_logs(session: Session, load_ids: Sequence[int] | None = None) -> dict[int, KeptLog]:
    """Give logs by load."""
    query = select(LoadLogRow)
    if load_ids is not None:
        query = query.where(LoadLogRow.load_id.in_(load_ids))
    return {row.load_id: _log(row) for row in session.scalars(query)}


def remove_log(session: Session, load_id: int) -> None:
    """Take the log off a load. The file stays."""
    session.execute(delete(LoadLogRow).where(LoadLogRow.load_id == load_id))


def _log(row: LoadLogRow) -> KeptLog:
    return KeptLog(row.load_id, row.sha256, row.name, row.size_bytes, dict(row.choice), row.kept_at)


# --- witness cones as found


def list_witnesses(
    session: Session, load_ids: Sequence[int] | None = None
) -> dict[int, tuple[WitnessReading, ...]]:
    """Give the cones and bars as found, by load."""
    query = select(LoadWitnessRow).order_by(LoadWitnessRow.load_id, LoadWitnessRow.position)
    if load_ids is not None:
        query = query.where(LoadWitnessRow.load_id.in_(load_ids))
    found: dict[int, tuple[WitnessReading, ...]] = {}
    for row in session.scalars(query):
        reading = WitnessReading(row.shelf, row.cone, row.angle_deg, row.form, row.note)
        found[row.load_id] = (*found.get(row.load_id, ()), reading)
    return found


def set_witnesses(
    session: Session, load_id: int, readings: Sequence[WitnessReading], rate_c_per_h: float | None
) -> Load:
    """Keep the cones as found, and set what each shelf came to from them.

    A shelf whose cone a person typed keeps it unless cones were found on it; one that only had cones found,
    and has none any more, loses its cone.
    """
    load = studio.load_row(session, load_id)
    kept = [
        WitnessReading(r.shelf.strip(), parse_cone(r.cone), float(r.angle_deg), r.form, r.note.strip())
        for r in readings
    ]
    came_to = {s.shelf.casefold(): s for s in read_shelves(kept, rate_c_per_h) if s.cone is not None}
    session.execute(delete(LoadWitnessRow).where(LoadWitnessRow.load_id == load_id))
    session.add_all(
        LoadWitnessRow(
            load_id=load_id,
            position=i,
            shelf=r.shelf,
            form=r.form,
            cone=r.cone,
            angle_deg=r.angle_deg,
            note=r.note,
        )
        for i, r in enumerate(kept)
    )
    cones = []
    for row in load.cones:
        found = came_to.pop(row.shelf.casefold(), None)
        if found is not None and found.cone is not None:
            cones.append(ConeResult(row.shelf, found.cone, BY_ITS_LEAN))
        elif row.note != BY_ITS_LEAN:
            cones.append(ConeResult(row.shelf, row.cone, row.note))
    cones += [ConeResult(s.shelf, s.cone, BY_ITS_LEAN) for s in came_to.values() if s.cone is not None]
    return studio.update_load(session, load_id, {"cones": cones})


# --- the bisque before


def set_bisque(session: Session, load_id: int, bisque_id: int | None) -> None:
    """Say which bisque load the ware of a load came from; None makes it unknown."""
    studio.load_row(session, load_id)
    session.execute(delete(LoadBisqueRow).where(LoadBisqueRow.load_id == load_id))
    if bisque_id is None:
        return
    if studio.load_row(session, bisque_id).kind != "bisque" or bisque_id == load_id:
        raise InvalidRecordError("bisque", bisque_id, "a bisque load")
    session.add(LoadBisqueRow(load_id=load_id, bisque_id=bisque_id))
    session.flush()


def bisque_id_of(session: Session, load_id: int) -> int | None:
    """Give the bisque load the ware of a load came from, None where nobody said."""
    row = session.get(LoadBisqueRow, load_id)
    return None if row is None else row.bisque_id


def one_load(session: Session, load_id: int) -> Load:
    """Give one load."""
    return load_record(studio.load_row(session, load_id))


# --- measures of clays


def add_body_measure(
    session: Session,
    body_id: int,
    kind: str,
    figures: Mapping[str, Any],
    *,
    cone: str | None,
    measured_on: date | None,
    note: str,
) -> BodyMeasure:
    """Keep a measurement of a clay; earlier ones of its kind stay."""
    studio.body_row(session, body_id)
    row = BodyMeasureRow(
        body_id=body_id,
        kind=kind,
        figures=checked_figures(kind, figures),
        cone=values.checked_cone("cone", cone),
        measured_on=measured_on,
        note=note.strip(),
    )
    session.add(row)
    session.flush()
    return _measure(row)


def list_body_measures(session: Session, body_id: int) -> tuple[BodyMeasure, ...]:
    """Give what was measured of a clay, the newest first."""
    query = select(BodyMeasureRow).where(BodyMeasureRow.body_id == body_id).order_by(BodyMeasureRow.id.desc())
    return tuple(_measure(row) for row in session.scalars(query))


def remove_body_measure(session: Session, measure_id: int) -> None:
    """Take a measurement back."""
    session.execute(delete(BodyMeasureRow).where(BodyMeasureRow.id == measure_id))


def _measure(row: BodyMeasureRow) -> BodyMeasure:
    return BodyMeasure(
        id=row.id,
        body_id=row.body_id,
        kind=row.kind,
        figures=dict(row.figures),
        cone=row.cone,
        measured_on=row.measured_on,
        note=row.note,
        kept_at=row.kept_at,
    )
