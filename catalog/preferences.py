"""Where a catalogue keeps how its studio likes figures shown."""

from __future__ import annotations

from sqlalchemy import select

from catalog import values
from catalog.casebook.tables import SettingRow
from catalog.choices import LENGTHS, TEMPERATURES, Choices
from catalog.database import Database

__all__ = ["Preferences"]


class Preferences:
    """The choices of a catalogue. Made by `Catalog`."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def get(self) -> Choices:
        """Give the choices as kept, those of `Choices` where nobody chose."""
        with self.database.reading() as session:
            kept = {row.name: row.value for row in session.scalars(select(SettingRow))}
        usual = Choices()
        return Choices(
            kept.get("shown_locale", usual.locale),
            kept.get("shown_temperature", usual.temperature),
            kept.get("shown_length", usual.length),
        )

    def keep(self, choices: Choices) -> None:
        """Keep the choices. Raises InvalidRecordError."""
        told = {
            "shown_locale": choices.locale.strip(),
            "shown_temperature": values.checked_choice("temperature", choices.temperature, TEMPERATURES),
            "shown_length": values.checked_choice("length", choices.length, LENGTHS),
        }
        with self.database.writing() as session:
            for name, value in told.items():
                session.merge(SettingRow(name=name, value=value))
