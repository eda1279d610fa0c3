"""Take the sample studio out of a catalogue again and leave all that is the potter's own."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import delete, func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from catalog import values
from catalog.casebook.tables import OutcomeRow, TrialPieceRow, TrialRow
from catalog.demo import SCENARIO, load_scenario
from catalog.pieces import bump
from catalog.store import Catalog
from catalog.tables import BodyRow, LayerRow, LoadRow, PhotoRow, PieceRow, ReadingRow, RecipeRow

__all__ = ["Removal", "holds_demo", "remove_demo"]


@dataclass(frozen=True, slots=True)
class Removal:
    """What was taken out, and the names of sample loads, glazes and clays that own pieces still use."""

    pieces: int
    photos: int
    kept: tuple[str, ...] = ()


def _sample_pieces(session: Session, scenario: Mapping[str, Any]) -> list[int]:
    """Give the pieces of the sample: its codes in its loads. A code moved to another load is the potter's."""
    codes = [values.code_key(str(t["code"])) for photo in scenario["photos"] for t in photo["tiles"]]
    loads = [str(load["name"]) for load in scenario["loads"]]
    query = (
        select(PieceRow.id)
        .join(LoadRow, LoadRow.id == PieceRow.load_id)
        .where(PieceRow.code_key.in_(codes), LoadRow.name.in_(loads))
    )
    return list(session.scalars(query))


def _trial_tiles(session: Session, ids: Collection[int]) -> list[int]:
    """Give the tiles planned for trials of these pieces that nobody photographed."""
    planned = select(TrialPieceRow.piece_id).join(TrialRow, TrialRow.id == TrialPieceRow.trial_id)
    query = select(PieceRow.id).where(
        PieceRow.id.in_(planned.where(TrialRow.piece_id.in_(ids))),
        PieceRow.id.not_in(select(ReadingRow.piece_id)),
    )
    return list(session.scalars(query))


def holds_demo(catalog: Catalog, folder: Path) -> int:
    """Count the sample studio's pieces in a catalogue. Raises ScenarioError."""
    scenario = load_scenario(folder / SCENARIO)
    with catalog.database.reading() as session:
        return len(_sample_pieces(session, scenario))


def remove_demo(catalog: Catalog, folder: Path) -> Removal:
    """Take out the sample studio: its pieces, photos, trials, then loads, glazes and clays nothing else uses.

    Parameters
    ----------
    folder : holds ``scenario.json``

    Raises
    ------
    ScenarioError : the scenario is missing or broken; nothing is taken out.
    """
    scenario = load_scenario(folder / SCENARIO)
    with catalog.database.writing() as session:
        ids = _sample_pieces(session, scenario)
        tiles = _trial_tiles(session, ids)
        session.execute(delete(OutcomeRow).where(OutcomeRow.piece_id.in_(ids)))
        readings = session.execute(
            select(ReadingRow.photo_sha256, ReadingRow.view_sha256).where(ReadingRow.piece_id.in_(ids))
        ).all()
        session.execute(delete(PieceRow).where(PieceRow.id.in_([*ids, *tiles])))
        photos = _unread(session, {row.photo_sha256 for row in readings})
        views = _unseen(session, {row.view_sha256 for row in readings if row.view_sha256 is not None})
        session.execute(delete(PhotoRow).where(PhotoRow.sha256.in_(photos)))
        kept = _take_away_unused(session, scenario)
        bump(session, "colours")
    # A second transaction: the rows are gone for good, and nobody files the same photo in between.
    with catalog.database.writing() as session:
        filed = set(session.scalars(select(PhotoRow.sha256).where(PhotoRow.sha256.in_(photos))))
        for sha256 in photos - filed:
            catalog.photos.remove(sha256)
        for sha256 in _unseen(session, views):
            catalog.views.remove(sha256)
    return Removal(len(ids), len(photos), kept)


def _unread(session: Session, digests: Collection[str]) -> set[str]:
    still = session.scalars(select(ReadingRow.photo_sha256).where(ReadingRow.photo_sha256.in_(digests)))
    return set(digests) - set(still)


def _unseen(session: Session, digests: Collection[str]) -> set[str]:
    still = session.scalars(select(ReadingRow.view_sha256).where(ReadingRow.view_sha256.in_(digests)))
    return set(digests) - set(still)


def _take_away_unused(session: Session, scenario: Mapping[str, Any]) -> tuple[str, ...]:
    kept: list[str] = []
    names = {kind: [str(one["name"]) for one in scenario[kind]] for kind in ("loads", "recipes", "bodies")}
    rows: list[tuple[LoadRow | RecipeRow | BodyRow, InstrumentedAttribute[int | None]]] = []
    rows += [
        (row, PieceRow.load_id)
        for row in session.scalars(select(LoadRow).where(LoadRow.name.in_(names["loads"])))
    ]
    rows += [
        (row, LayerRow.recipe_id)
        for row in session.scalars(select(RecipeRow).where(RecipeRow.name.in_(names["recipes"])))
    ]
    rows += [
        (row, PieceRow.body_id)
        for row in session.scalars(select(BodyRow).where(BodyRow.name.in_(names["bodies"])))
    ]
    for row, used_by in rows:
        if session.scalar(select(func.count()).where(used_by == row.id)):
            kept.append(row.name)
        else:
            session.delete(row)
    session.flush()
    return tuple(dict.fromkeys(kept))
