"""Bring a package's rows into a catalogue: what is known stays as it is here, what is new is added.

Nothing that stands here is changed or taken away. Where a package says something else of a thing, of a fault,
of an answer, the word said here stands, and the report names it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from catalog import pieces, values
from catalog.columns import now
from catalog.errors import CatalogError
from catalog.exchange.checked import check_row
from catalog.exchange.derived import derive
from catalog.exchange.errors import PackageError
from catalog.exchange.here import Here, recipe_digest
from catalog.exchange.merge_report import MergeNote, MergeReport
from catalog.exchange.opened import OpenPackage
from catalog.exchange.rows import with_recipes
from catalog.exchange.shapes import Field, Shape, shape_of, shapes
from catalog.tables import LayerRow

__all__ = ["merge"]

_FAMILIES = ("body", "recipe", "material")
_OWN_WAYS = frozenset({"setting", "card_teaching"})
"""How a studio works and what its own printed card looks like: another studio's would change what is read."""
_TRIES = 1000
_NOT_COMPARED = frozenset({"uid", "superseded_by_id", "photo_sha256", "view_sha256"})
"""Identities: a copy to hand on has another digest than the photo it was made from."""


def merge(session: Session, package: OpenPackage) -> MergeReport:
    """Write a package's rows in the caller's transaction.

    Raises
    ------
    PackageError : a row points at nothing, or says what the catalogue cannot keep. The caller rolls back.
    """
    return _Merge(session, package).run()


class _Merge:
    def __init__(self, session: Session, package: OpenPackage) -> None:
        self.session = session
        self.package = package
        self.here = Here(session)
        self.report = MergeReport()
        self.ids: dict[str, dict[str, int]] = defaultdict(dict)
        self.fresh: dict[str, set[int]] = defaultdict(set)
        self.told: set[tuple[str, int]] = set()
        self.seen: set[tuple[str, tuple[Any, ...]]] = set()
        self.later: list[tuple[int, str]] = []
        self.new_names: dict[tuple[str, str], str] = {}
        self.lines: dict[str, list[Mapping[str, Any]]] = defaultdict(list)
        for row in package.tables.get("recipe_line", ()):
            self.lines[row["recipe_uid"]].append(row)
        self.photos_of: dict[str, set[str]] = defaultdict(set)
        for row in package.tables.get("reading", ()):
            self.photos_of[row["piece_uid"]].add(row["photo_sha256"])
        self.photos = {row["sha256"]: row for row in package.tables.get("photo", ())}
        self.glazes_here = {
            *self.here.names("recipe"),
            *(name.casefold() for name in session.scalars(select(LayerRow.name).distinct())),
        }

    def run(self) -> MergeReport:
        """Bring in all tables, each after those it points at."""
        for shape in shapes():
            if shape.name == "photo":
                continue
            for number, row in enumerate(self.package.tables.get(shape.name, ()), start=2):
                place = f"data/{shape.name}.csv row {number}"
                try:
                    self._row(shape, row, place)
                except IntegrityError as error:
                    raise self._refused(place, "it breaks a rule of the catalogue") from error
                except PackageError:
                    raise
                except CatalogError as error:
                    raise self._refused(place, str(error)) from error
        self._later_readings()
        self._loose_photos()
        self._derive()
        return self.report

    def _refused(self, place: str, reason: str) -> PackageError:
        return PackageError(self.package.where, place, reason)

    # --- one row

    def _row(self, shape: Shape, row: Mapping[str, Any], place: str) -> None:
        columns = self._columns(shape, row, place)
        if columns is None:
            self.report.counts[shape.name].ours += 1
            return
        self._checked(shape, row, columns, place)
        if shape.numbered:
            self._record(shape, row, columns, place)
        elif shape.owner is not None:
            self._part(shape, columns)
        else:
            self._keyed(shape, columns)

    def _columns(self, shape: Shape, row: Mapping[str, Any], place: str) -> dict[str, Any] | None:
        """Give a row by column, references as numbers here; None where what it belongs to stays out."""
        columns: dict[str, Any] = {}
        for each in shape.fields:
            if each.name not in row:
                columns[each.column] = self._default(each, place)
                continue
            value = row[each.name]
            if each.target is None or value is None:
                columns[each.column] = value
            elif each.name == each.column:
                if value not in self.photos:
                    raise self._refused(place, f"photo {value[:12]} is not in photo.csv")
                columns[each.column] = value
            elif each.target == shape.name:
                columns[each.column] = None
            else:
                number = self.ids[each.target].get(value)
                if number is None and not self._in_package(each.target, value):
                    raise self._refused(place, f"{each.name} {value[:12]} is not in {each.target}.csv")
                if number is None and not each.nullable:
                    return None
                columns[each.column] = number
        return columns

    def _in_package(self, table: str, uid: str) -> bool:
        return any(row.get("uid") == uid for row in self.package.tables.get(table, ()))

    def _default(self, each: Field, place: str) -> Any:
        """Give what an older format did not say."""
        if each.nullable:
            return None
        usual = {"string": "", "object": {}, "array": [], "datetime": now(), "boolean": False}
        if each.kind not in usual or each.target is not None:
            raise self._refused(place, f"{each.name} is missing")
        return usual[each.kind]

    # --- records with a uid of their own

    def _record(self, shape: Shape, row: Mapping[str, Any], columns: dict[str, Any], place: str) -> None:
        own = self._key(shape, columns)
        key = str(row[shape.key[0]])
        if (shape.name, own) in self.seen:
            raise self._refused(place, f"{shape.key[0]} {key[:12]} is there twice")
        self.seen.add((shape.name, own))
        known = self.here.rows(shape).get(own)
        number = None if known is None else int(known["id"])
        if number is None:
            number = self.here.same(shape.name, columns, frozenset(self.photos_of.get(key, ())))
        if number is not None:
            self.ids[shape.name][key] = number
            self._compare(shape, columns, number)
            self._note_later(shape, row, number)
            return
        if self._not_taken(shape.name, columns):
            self.report.counts[shape.name].ours += 1
            return
        if self._spoken_here(shape, columns):
            return
        self._rename(shape, columns)
        if columns.get("photo_sha256") is not None:
            self._need_photo(columns["photo_sha256"], place)
        if columns.get("view_sha256") is not None:
            self._need_file("views", columns["view_sha256"], place)
        made: Any = self.session.execute(insert(shape.table).values(**columns))
        number = int(made.inserted_primary_key[0])
        self.ids[shape.name][key] = number
        self.fresh[shape.name].add(number)
        self.report.counts[shape.name].added += 1
        self._note_later(shape, row, number)

    def _note_later(self, shape: Shape, row: Mapping[str, Any], number: int) -> None:
        """Remember that a later reading stands in this one's place, unless one does here already."""
        if shape.name != "reading" or row.get("superseded_by_uid") is None:
            return
        known = number not in self.fresh["reading"]
        if known and self.here.row(shape, number)["superseded_by_id"] is not None:
            return
        self.later.append((number, row["superseded_by_uid"]))

    def _checked(self, shape: Shape, row: Mapping[str, Any], columns: dict[str, Any], place: str) -> None:
        """Hold a row to the catalogue's rules, and work out what does not travel."""
        try:
            check_row(shape.name, columns)
            if shape.name == "recipe":
                columns["content"] = recipe_digest(columns, self.lines[row["uid"]])
            elif shape.name == "leach_result":
                columns["make"] = with_recipes(columns["make"], self.ids["recipe"])
        except (KeyError, ValueError, TypeError, AttributeError, IndexError) as error:
            raise self._refused(place, f"it is no {shape.name} ({type(error).__name__})") from error

    def _compare(self, shape: Shape, columns: Mapping[str, Any], number: int) -> None:
        """Count a row that is known, and say so where it differs from what stands here."""
        row = self.here.row(shape, number)
        differs = any(
            row[each.column] != columns[each.column]
            for each in shape.fields
            if each.kind != "datetime" and each.column not in _NOT_COMPARED
        )
        if differs:
            self._ours_stands(shape.name, number, row)
        else:
            self.report.counts[shape.name].known += 1

    def _ours_stands(self, table: str, number: int, row: Mapping[str, Any]) -> None:
        if (table, number) in self.told:
            return
        self.told.add((table, number))
        self.report.counts[table].ours += 1
        what = row.get("code") or row.get("name") or row.get("subject") or row.get("fact") or ""
        self.report.notes.append(MergeNote("ours stands", table, str(what)))

    def _spoken_here(self, shape: Shape, columns: Mapping[str, Any]) -> bool:
        """Tell whether a person here has spoken of the same thing: the later word would count."""
        if columns.get("removed_at") is not None:
            return False
        word = self.here.word(shape.name, columns)
        if word is None:
            return False
        same = all(word[n] == columns[n] for n in ("verdict", "value", "figures") if n in columns)
        if same:
            self.report.counts[shape.name].known += 1
        else:
            self._ours_stands(shape.name, word["id"], word)
        return True

    def _rename(self, shape: Shape, columns: dict[str, Any]) -> None:
        """Give a new name where another thing here has it, so that neither is taken for the other."""
        if shape.name == "piece" and columns["deleted_at"] is None:
            new = self._free(columns["code"], lambda code: self.here.standing_code(code) is None, "-{}")
            if new != columns["code"]:
                self._renamed("piece", columns["code"], new)
                columns["code"], columns["code_key"] = new, values.code_key(new)
        elif shape.name in _FAMILIES:
            self._rename_family(shape.name, columns)

    def _rename_family(self, table: str, columns: dict[str, Any]) -> None:
        key = columns["name_key"]
        if (table, key) not in self.new_names:
            taken = self.here.names(table)
            ours = table != "body" and self._family_known(table, key)
            free = columns["name"]
            if not ours:
                free = self._free(free, lambda name: name.casefold() not in taken, " ({})")
            if free != columns["name"]:
                self._renamed(table, columns["name"], free)
            self.new_names[table, key] = free
        columns["name"] = self.new_names[table, key]
        columns["name_key"] = columns["name"].casefold()
        if "revision" in columns:
            taken_here = self.here.taken(table, columns["name_key"])
            if columns["revision"] in taken_here:
                columns["revision"] = max(taken_here) + 1
                taken_here.add(columns["revision"])

    def _family_known(self, table: str, key: str) -> bool:
        """Tell whether a revision of this name in the package is one that is here."""
        uids = {row["uid"] for row in self.package.tables.get(table, ()) if row["name"].casefold() == key}
        return any((uid,) in self.here.rows(shape_of(table)) or uid in self.ids[table] for uid in uids)

    def _free(self, name: str, is_free: Any, ending: str) -> str:
        if is_free(name):
            return name
        tried = (name + ending.format(number) for number in range(2, _TRIES))
        return next(each for each in tried if is_free(each))

    def _renamed(self, table: str, old: str, new: str) -> None:
        self.report.notes.append(MergeNote("renamed", table, old, new))

    # --- lists that belong to a record, and rows known by what they belong to

    def _part(self, shape: Shape, columns: Mapping[str, Any]) -> None:
        """Add a line, layer, cone or colour to a record that is new; one that is here keeps its own list."""
        owner = shape.field(shape.owner or "")
        number = columns[owner.column]
        table = owner.target or ""
        if number in self.fresh[table]:
            self._add(shape, columns)
            return
        row = self.here.rows(shape).get(self._key(shape, columns))
        if row is None or any(row[f.column] != columns[f.column] for f in shape.fields):
            self._ours_stands(table, number, self.here.row(shape_of(table), number))
        else:
            self.report.counts[shape.name].known += 1

    def _keyed(self, shape: Shape, columns: dict[str, Any]) -> None:
        row = self.here.rows(shape).get(self._key(shape, columns))
        if shape.name == "counter":
            at_least = int(columns["value"])
            if row is None or row["value"] < at_least:
                pieces.bump(self.session, columns["name"], at_least=at_least)
        elif row is not None:
            differs = any(row[f.column] != columns[f.column] for f in shape.fields if f.kind != "datetime")
            if differs and shape.name != "setting":
                self.report.counts[shape.name].ours += 1
                what = str(row.get("name") or row.get("side") or shape.name)
                self.report.notes.append(MergeNote("ours stands", shape.name, what))
            else:
                self.report.counts[shape.name].known += 1
        elif self._not_taken(shape.name, columns):
            self.report.counts[shape.name].ours += 1
        else:
            if shape.name == "load_log":
                self._need_file("logs", columns["sha256"], "data/load_log.csv")
            if "name" in columns and "name_key" in shape.table.columns:
                columns["name_key"] = columns["name"].casefold()
            self._add(shape, columns)

    def _not_taken(self, table: str, columns: Mapping[str, Any]) -> bool:
        """Tell what a catalogue in use does not take of another studio's."""
        if table in _OWN_WAYS:
            return not self.here.empty
        return table == "glaze_effect" and columns["glaze_key"] in self.glazes_here

    def _key(self, shape: Shape, columns: Mapping[str, Any]) -> tuple[Any, ...]:
        return tuple(columns[shape.field(name).column] for name in shape.key)

    def _add(self, shape: Shape, columns: Mapping[str, Any]) -> None:
        self.session.execute(insert(shape.table).values(**columns))
        self.report.counts[shape.name].added += 1

    # --- files

    def _need_photo(self, sha256: str, place: str) -> None:
        shape = shape_of("photo")
        if (sha256,) in self.here.rows(shape):
            return
        columns = {each.column: self.photos[sha256].get(each.name) for each in shape.fields}
        check_row("photo", columns)
        self._add(shape, columns)
        self.here.rows(shape)[(sha256,)] = columns
        self._need_file("photos", sha256, place)

    def _need_file(self, folder: str, sha256: str, place: str) -> None:
        if sha256 in self.package.files[folder]:
            self.report.files[folder].add(sha256)
        elif not any(name.startswith(f"{folder}/") for name in self.package.lost):
            raise self._refused(place, f"{folder}/{sha256[:12]} is not in the package")

    def _loose_photos(self) -> None:
        """Bring photos that no row names: their pieces were filed and taken away."""
        named = {
            row.get("photo_sha256") for shape in shapes() for row in self.package.tables.get(shape.name, ())
        }
        for sha256 in self.photos:
            if sha256 not in named:
                self._need_photo(sha256, "data/photo.csv")

    # --- what follows from the rest

    def _later_readings(self) -> None:
        """Say of new readings which later one stands in their place, now that all have their number."""
        table = shape_of("reading").table
        for number, uid in self.later:
            later = self.ids["reading"].get(uid)
            if later is None:
                raise self._refused("data/reading.csv", f"reading {uid[:12]} is not in it")
            self.session.execute(update(table).where(table.c.id == number).values(superseded_by_id=later))
        if self.later:
            pieces.bump(self.session, "colours")

    def _derive(self) -> None:
        """Give codes out after those that came, and say anew which faults stand on each piece."""
        touched = set(self.fresh["piece"])
        for name in ("reading", "judgement"):
            table = shape_of(name).table
            numbers = sorted(self.fresh[name])
            for start in range(0, len(numbers), 500):
                part = numbers[start : start + 500]
                touched |= set(self.session.scalars(select(table.c.piece_id).where(table.c.id.in_(part))))
        try:
            derive(self.session, sorted(touched))
        except (KeyError, ValueError, TypeError, AttributeError, IndexError) as error:
            raise self._refused("", f"a piece in it cannot be shown ({error})") from error
