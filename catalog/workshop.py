"""`Workshop`: the part of the catalogue about the studio's own materials, kilns and clays."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from catalog import workshop_rows as rows
from catalog.body.measures import BodyKnowledge, body_knowledge
from catalog.database import Database
from catalog.errors import PhotoDamagedError, PhotoMissingError
from catalog.firing.bend import WitnessReading
from catalog.firing.errors import FiringError, ScheduleError
from catalog.firing.heatwork import final_rate_c_per_h
from catalog.firing.log_csv import LogImport, import_log_csv
from catalog.firing.log_table import read_log_table
from catalog.firing.path import TemperaturePath, path_of_schedule
from catalog.firing.witness import ShelfOffset, shelf_offsets
from catalog.glaze.analysis_sheet import AnalysisSheet, moisture_of, newest_materials
from catalog.glaze.materials import Material
from catalog.photos import KeptFiles
from catalog.records import Load
from catalog.workshop_records import BodyMeasure, KeptLog, KeptMaterial

__all__ = ["Workshop", "log_columns_of", "read_log_bytes"]


def read_log_bytes(data: bytes, name: str, choice: Mapping[str, str] | None = None) -> LogImport:
    """Read a controller's log from its bytes. Raises ScheduleError (as `import_log_csv`)."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "log"
        place.write_bytes(data)
        return import_log_csv(place, choice, name)


def log_columns_of(data: bytes, name: str) -> tuple[str, ...]:
    """Give the names of a log's columns, to choose among. Raises ScheduleError."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "log"
        place.write_bytes(data)
        return tuple(read_log_table(place, name).columns)


class Workshop:
    """Own materials, logs and witness cones of loads, measures of clays.

    Made by `Catalog`; each method is one transaction. All errors are `catalog.errors.CatalogError`.
    """

    def __init__(self, database: Database, logs: KeptFiles) -> None:
        self.database = database
        self.logs = logs

    # --- materials

    def materials(self, *, latest_only: bool = True) -> tuple[KeptMaterial, ...]:
        """Give the studio's own materials by name, the newest revision first."""
        with self.database.reading() as session:
            return rows.list_materials(session, latest_only=latest_only)

    def add_material(self, sheet: AnalysisSheet) -> KeptMaterial:
        """Keep a sheet as its material's next revision. Raises AnalysisSheetError, InvalidRecordError."""
        with self.database.writing() as session:
            return rows.add_material(session, sheet)

    def own(self) -> dict[str, Material]:
        """Give the newest revision of each own material, as `formula_of` takes them."""
        return newest_materials(each.own for each in self.materials())

    def moisture_pct(self) -> dict[str, float]:
        """Give the moisture of own materials where measured, as `batch_for` takes them."""
        return moisture_of(each.own for each in self.materials())

    # --- logs

    def keep_log(
        self, load_id: int, data: bytes, name: str, choice: Mapping[str, str] | None = None
    ) -> KeptLog:
        """Keep a log's file, byte for byte, with its load; the file is safe on disk first.

        Raises
        ------
        ScheduleError : it cannot be read with this choice of columns; nothing is kept.
        LoadNotFoundError, CatalogFullError, ReadOnlyCatalogError
        """
        read_log_bytes(data, name, choice)
        sha256 = self.logs.keep(data)
        with self.database.writing() as session:
            self.logs.keep_again(sha256, data)
            return rows.keep_log(session, load_id, sha256, name, len(data), choice or {})

    def log(self, load_id: int) -> KeptLog | None:
        """Give the log kept with a load, None if there is none."""
        with self.database.reading() as session:
            return rows.list_logs(session, [load_id]).get(load_id)

    def log_bytes(self, kept: KeptLog) -> bytes:
        """Give a log's file as it came. Raises PhotoMissingError, PhotoDamagedError."""
        return self.logs.read(kept.sha256)

    def read_log(self, kept: KeptLog) -> LogImport:
        """Read a kept log. Raises PhotoMissingError, PhotoDamagedError, ScheduleError."""
        return read_log_bytes(self.log_bytes(kept), kept.name, kept.choice)

    def remove_log(self, load_id: int) -> None:
        """Take the log off a load. The file stays in its folder."""
        with self.database.writing() as session:
            rows.remove_log(session, load_id)

    def courses(self, load_ids: Sequence[int] | None = None) -> dict[int, TemperaturePath]:
        """Give the measured courses by load; a log that cannot be read any more is left out."""
        with self.database.reading() as session:
            kept = rows.list_logs(session, load_ids)
        found = {}
        for load_id, log in kept.items():
            try:
                found[load_id] = self.read_log(log).path
            except (FiringError, PhotoMissingError, PhotoDamagedError):
                continue
        return found

    # --- witness cones

    def witnesses(self, load_id: int) -> tuple[WitnessReading, ...]:
        """Give the cones and bars of a load as they were found."""
        with self.database.reading() as session:
            return rows.list_witnesses(session, [load_id]).get(load_id, ())

    def set_witnesses(self, load_id: int, readings: Iterable[WitnessReading]) -> Load:
        """Keep cones and bars as found; what each shelf came to follows.

        Raises
        ------
        MeasureError, UnknownConeError, LoadNotFoundError
        """
        rate = self.last_rate_c_per_h(load_id)
        with self.database.writing() as session:
            return rows.set_witnesses(session, load_id, tuple(readings), rate)

    def last_rate_c_per_h(self, load_id: int) -> float | None:
        """Give the rate of a load's last 100 °C, by its log, else by its plan; None where neither says."""
        course = self.courses([load_id]).get(load_id)
        if course is None:
            with self.database.reading() as session:
                load = rows.one_load(session, load_id)
            try:
                course = path_of_schedule(load.schedule, load.name)
            except ScheduleError:
                return None
        return final_rate_c_per_h(course)

    def offsets(self, loads: Sequence[Load]) -> tuple[ShelfOffset, ...]:
        """Give how far each kiln's thermocouple is from each shelf, over these loads."""
        with self.database.reading() as session:
            found = rows.list_witnesses(session)
        return shelf_offsets(loads, self.courses(), found)

    # --- the bisque before

    def set_bisque(self, load_id: int, bisque_id: int | None) -> None:
        """Say which bisque load a load's ware came from. Raises LoadNotFoundError, InvalidRecordError."""
        with self.database.writing() as session:
            rows.set_bisque(session, load_id, bisque_id)

    def bisque_of(self, load_id: int) -> Load | None:
        """Give the bisque load a load's ware came from, None where nobody said."""
        with self.database.reading() as session:
            bisque_id = rows.bisque_id_of(session, load_id)
            return None if bisque_id is None else rows.one_load(session, bisque_id)

    # --- clays

    def add_body_measure(
        self,
        body_id: int,
        kind: str,
        figures: Mapping[str, Any],
        *,
        cone: str | None = None,
        measured_on: date | None = None,
        note: str = "",
    ) -> BodyMeasure:
        """Keep a measurement of a clay (`catalog.body.measures`).

        Raises
        ------
        MeasurementError, UnknownConeError, BodyNotFoundError
        """
        with self.database.writing() as session:
            return rows.add_body_measure(
                session, body_id, kind, figures, cone=cone, measured_on=measured_on, note=note
            )

    def body_measures(self, body_id: int) -> tuple[BodyMeasure, ...]:
        """Give what was measured of a clay, the newest first."""
        with self.database.reading() as session:
            return rows.list_body_measures(session, body_id)

    def body_knowledge(self, body_id: int) -> BodyKnowledge:
        """Give what the newest measurement of each kind says of a clay."""
        return body_knowledge(self.body_measures(body_id))

    def remove_body_measure(self, measure_id: int) -> None:
        """Take a measurement back."""
        with self.database.writing() as session:
            rows.remove_body_measure(session, measure_id)
