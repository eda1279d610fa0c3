"""The format: a fresh catalogue is the models, an older one keeps its rows, a newer one is left alone."""

import re
import sqlite3
from datetime import date
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine

from catalog import migrate
from catalog.checkup import find_problems
from catalog.database import APPLICATION_ID
from catalog.errors import DamagedCatalogError, NewerCatalogError
from catalog.home import DATABASE_NAME
from catalog.records import ConeResult, Layer, PieceDraft, Segment
from catalog.store import Catalog, effective_faults
from catalog.tables import Base

FORMATS = Path(__file__).parent / "formats"


def shape(connection):
    """All tables and indices as SQL, blanks and quotes evened out, columns and constraints in one order."""
    rows = connection.execute(
        "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"
    ).fetchall()
    made = {}
    for kind, name, sql in rows:
        head, _, inside = sql.replace('"', "").partition("(")
        inside = inside.rstrip().removesuffix(")")
        made[kind, name] = (head.strip(), sorted(part.strip() for part in re.split(r",\s*\n", inside)))
    return made


def test_the_formats_known_are_the_steps_there_are():
    script = ScriptDirectory.from_config(migrate.alembic_config())
    assert tuple(step.revision for step in script.walk_revisions())[::-1] == migrate.KNOWN
    assert script.get_current_head() == migrate.HEAD


def test_a_fresh_catalogue_is_what_the_models_say(catalog, home, tmp_path):
    with catalog.database.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
    engine = create_engine(f"sqlite:///{tmp_path}/models.sqlite3")
    Base.metadata.create_all(engine)
    engine.dispose()
    with (
        sqlite3.connect(home / DATABASE_NAME) as stepped,
        sqlite3.connect(tmp_path / "models.sqlite3") as models,
    ):
        expected = shape(models)
        found = shape(stepped)
    found.pop(("table", "alembic_version"))
    stepped.close()
    models.close()
    assert found == expected


def test_sqlite_is_told_what_it_must_do(catalog):
    with catalog.database.engine.connect() as connection:
        ask = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "synchronous", "busy_timeout", "application_id")
        }
    assert ask == {
        "journal_mode": "wal",
        "foreign_keys": 1,
        "synchronous": 2,
        "busy_timeout": 15000,
        "application_id": APPLICATION_ID,
    }


def test_opening_again_changes_and_copies_nothing(catalog, home):
    catalog.add_body("White")
    with Catalog.open(home) as again:
        assert [b.name for b in again.bodies()] == ["White"]
    assert not again.home.copies.exists()


@pytest.mark.parametrize("kept", sorted(FORMATS.glob("*.sql")), ids=lambda path: path.stem)
def test_a_catalogue_of_each_earlier_format_opens_with_all_its_rows(home, kept):
    """The dumps were written by the version that made the format, and stay as they are."""
    home.mkdir()
    database = sqlite3.connect(home / DATABASE_NAME)
    database.executescript(kept.read_text(encoding="utf-8"))
    database.close()
    with Catalog.open(home) as catalog:
        (body,) = catalog.bodies()
        assert (body.name, body.rated_cone, body.absorption_pct, body.facts) == (
            "White",
            "6",
            1.8,
            {"body.bisque_cone": "04"},
        )
        new, old = catalog.recipes(latest_only=False)
        assert (new.revision, new.lines[2].amount, old.lines[2].amount) == (2, 7, 5)
        (load,) = catalog.loads()
        assert (load.fired_on, load.cones) == (
            date(2026, 10, 19),
            (ConeResult("top", "8"), ConeResult("middle", "7")),
        )
        assert load.schedule == (Segment(80, 120, 30), Segment(150, 1215, 10))
        (piece,) = catalog.pieces()
        assert (piece.code, piece.body, piece.load, piece.shelf) == ("T-0001", body, load, "top")
        assert piece.layers == (Layer(None, "slip"), Layer(new.id, "Moss", 2, "dip", 0.6))
        assert [r.calibration_kind for r in piece.readings] == ["none", "card"]
        assert piece.readings[1].tile.glaze.palette[0].fraction == 0.7
        assert [(j.subject, j.verdict, j.by) for j in piece.judgements] == [("blistered", "absent", "Ana")]
        assert effective_faults(piece) == ()
        assert catalog.restore_piece("T-0002").code == "T-0002"
        assert {p.kind for p in find_problems(catalog)} == {"missing photo", "missing view"}
        with catalog.database.engine.connect() as connection:
            assert migrate.format_of(connection) == migrate.HEAD


# --- a step still to come, made up here: it rebuilds the table that readings, layers and judgements point at

NEXT_STEP = """
import sqlalchemy as sa
from alembic import op
revision = "made_up"
down_revision = "{head}"
def upgrade():
    with op.batch_alter_table("piece", recreate="always") as batch:
        batch.add_column(sa.Column("weight_g", sa.Double(), nullable=True))
    {then}
"""


@pytest.fixture
def next_version(tmp_path, monkeypatch):
    """Give a function that makes this program the next version, with one more step."""
    known = migrate.alembic_config

    def make(then="pass"):
        steps = tmp_path / "steps"
        steps.mkdir()
        (steps / "made_up.py").write_text(NEXT_STEP.format(head=migrate.HEAD, then=then))

        def config():
            made = known()
            versions = Path(migrate.__file__).parent / "migrations" / "versions"
            made.set_main_option("path_separator", "newline")
            made.set_main_option("version_locations", f"{versions}\n{steps}")
            return made

        monkeypatch.setattr(migrate, "alembic_config", config)
        monkeypatch.setattr(migrate, "KNOWN", (*migrate.KNOWN, "made_up"))
        monkeypatch.setattr(migrate, "HEAD", "made_up")

    return make


def fill(home, photo):
    with Catalog.open(home) as catalog:
        catalog.file_photo(b"p", photo(), [PieceDraft(0, layers=(Layer(None, "slip"),))])
        catalog.add_judgement("T-0001", "fault", "blister", "present")
        return catalog.piece("T-0001")


def columns(home):
    with sqlite3.connect(home / DATABASE_NAME) as database:
        names = [row[1] for row in database.execute("PRAGMA table_info(piece)")]
    database.close()
    return names


def test_rebuilding_a_table_takes_no_row_along_and_a_copy_is_kept(home, photo, next_version):
    before = fill(home, photo)
    assert (len(before.readings), len(before.layers), len(before.judgements)) == (1, 1, 1)
    old_head = migrate.HEAD
    next_version()
    with Catalog.open(home) as catalog:
        assert catalog.piece("T-0001") == before
        assert find_problems(catalog) == ()
        (copy,) = catalog.home.copies.iterdir()
    assert "weight_g" in columns(home)
    assert old_head in copy.name
    with sqlite3.connect(copy) as database:
        assert database.execute("SELECT version_num FROM alembic_version").fetchall() == [(old_head,)]
        assert database.execute("SELECT count(*) FROM reading").fetchone() == (1,)
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    database.close()


def test_a_step_that_fails_leaves_the_catalogue_as_it_was(home, photo, next_version, monkeypatch):
    before = fill(home, photo)
    old_head = migrate.HEAD
    next_version('raise RuntimeError("power cut")')
    with pytest.raises(RuntimeError, match="power cut"):
        Catalog.open(home)
    assert "weight_g" not in columns(home)
    with sqlite3.connect(home / DATABASE_NAME) as database:
        assert database.execute("SELECT version_num FROM alembic_version").fetchone() == (old_head,)
    database.close()
    monkeypatch.undo()
    with Catalog.open(home) as catalog:
        assert catalog.piece("T-0001") == before


def test_a_step_that_would_break_references_is_taken_back(home, photo, next_version, monkeypatch):
    before = fill(home, photo)
    next_version("op.execute('DELETE FROM photo')")
    with pytest.raises(DamagedCatalogError, match="broken references"):
        Catalog.open(home)
    monkeypatch.undo()
    with Catalog.open(home) as catalog:
        assert catalog.piece("T-0001") == before


def test_a_catalogue_of_a_later_version_is_refused_and_left_untouched(home, photo):
    fill(home, photo)
    with sqlite3.connect(home / DATABASE_NAME) as database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
    database.close()
    before = (home / DATABASE_NAME).read_bytes()
    with pytest.raises(NewerCatalogError) as caught:
        Catalog.open(home)
    assert (caught.value.found, caught.value.known) == ("9999", migrate.HEAD)
    assert (home / DATABASE_NAME).read_bytes() == before


@pytest.mark.parametrize(
    "content", [b"a shopping list, longer than the head of a database file would be" * 20, None]
)
def test_what_is_no_catalogue_is_refused_and_left_untouched(home, content):
    home.mkdir()
    place = home / DATABASE_NAME
    if content is None:
        with sqlite3.connect(place) as database:
            database.execute("CREATE TABLE songs (title)")
        database.close()
    else:
        place.write_bytes(content)
    before = place.read_bytes()
    with pytest.raises(DamagedCatalogError):
        Catalog.open(home)
    assert place.read_bytes() == before
