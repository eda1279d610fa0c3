"""`StudioRecords`: clay bodies, recipes and loads, as `Catalog` has them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Unpack

from catalog import studio
from catalog.database import Database
from catalog.records import Body, ConeResult, FactValue, Load, Recipe, RecipeLine, Segment
from catalog.row_records import load_record, recipe_record
from catalog.studio import BodyFields, LoadFields

__all__ = ["StudioRecords"]


class StudioRecords:
    """The part of `Catalog` that keeps what pieces are made of and fired in; a method is one transaction."""

    database: Database

    # --- bodies

    def add_body(
        self,
        name: str,
        kind: str = "other",
        *,
        rated_cone: str | None = None,
        absorption_pct: float | None = None,
        facts: Mapping[str, FactValue] | None = None,
        notes: str = "",
    ) -> Body:
        """Add a clay body, `kind` one of `records.BODY_KINDS`. Raises NameTakenError, InvalidRecordError."""
        fields = BodyFields(
            name=name,
            kind=kind,
            rated_cone=rated_cone,
            absorption_pct=absorption_pct,
            facts=facts or {},
            notes=notes,
        )
        with self.database.writing() as session:
            return studio.add_body(session, fields)

    def bodies(self) -> tuple[Body, ...]:
        """Give all bodies by name."""
        with self.database.reading() as session:
            return studio.list_bodies(session)

    def update_body(self, body_id: int, **changes: Unpack[BodyFields]) -> Body:
        """Change a body in place. Raises BodyNotFoundError, NameTakenError, InvalidRecordError."""
        with self.database.writing() as session:
            return studio.update_body(session, body_id, changes)

    # --- recipes

    def add_recipe(
        self,
        name: str,
        lines: Sequence[RecipeLine],
        *,
        cone_low: str | None = None,
        cone_high: str | None = None,
        intended: Sequence[str] | frozenset[str] = (),
        facts: Mapping[str, FactValue] | None = None,
        notes: str = "",
    ) -> Recipe:
        """Add a recipe. A name kept already with other content becomes the next revision.

        Where nothing differs from the newest revision of that name, that one is given back. Revisions are
        never changed: pieces stay with the one they were glazed from.
        """
        with self.database.writing() as session:
            return studio.add_recipe(
                session,
                name,
                lines,
                cone_low=cone_low,
                cone_high=cone_high,
                intended=tuple(intended),
                facts=facts or {},
                notes=notes,
            )

    def recipes(self, latest_only: bool = True) -> tuple[Recipe, ...]:
        """Give recipes by name; with `latest_only` false all revisions, the newest first."""
        with self.database.reading() as session:
            return studio.list_recipes(session, latest_only=latest_only)

    def recipe(self, recipe_id: int) -> Recipe:
        """Give one revision. Raises RecipeNotFoundError."""
        with self.database.reading() as session:
            return recipe_record(studio.recipe_row(session, recipe_id))

    # --- loads

    def add_load(
        self,
        name: str,
        kind: str = "glaze",
        *,
        kiln: str = "",
        fired_on: date | None = None,
        cone_aimed: str | None = None,
        cones: Sequence[ConeResult] = (),
        atmosphere: str | None = None,
        schedule: Sequence[Segment] = (),
        facts: Mapping[str, FactValue] | None = None,
        notes: str = "",
    ) -> Load:
        """Add a kiln firing; `kind` is "bisque" or "glaze". Raises InvalidRecordError."""
        fields = LoadFields(
            name=name,
            kind=kind,
            kiln=kiln,
            fired_on=fired_on,
            cone_aimed=cone_aimed,
            cones=cones,
            atmosphere=atmosphere,
            schedule=schedule,
            facts=facts or {},
            notes=notes,
        )
        with self.database.writing() as session:
            return studio.add_load(session, fields)

    def update_load(self, load_id: int, **changes: Unpack[LoadFields]) -> Load:
        """Change a load in place, its witness cones and schedule as a whole. Raises LoadNotFoundError."""
        with self.database.writing() as session:
            return studio.update_load(session, load_id, changes)

    def loads(self, kind: str | None = None) -> tuple[Load, ...]:
        """Give loads, the last fired first; undated ones on top."""
        with self.database.reading() as session:
            return studio.list_loads(session, kind=kind)

    def load(self, load_id: int) -> Load:
        """Give one load. Raises LoadNotFoundError."""
        with self.database.reading() as session:
            return load_record(studio.load_row(session, load_id))

    def delete_load(self, load_id: int) -> None:
        """Remove a load without pieces. Raises InUseError, LoadNotFoundError."""
        with self.database.writing() as session:
            studio.delete_load(session, load_id)
