"""check, backup, restore, export and import from the command line: results, exit codes, plain words."""

import json
import re
from pathlib import Path

import pytest

from app.cli import main
from app.words.checking import problem_words
from catalog.checkup import PROBLEM_KINDS, Problem
from catalog.store import Catalog

Captured = pytest.CaptureFixture[str]


@pytest.mark.parametrize("kind", PROBLEM_KINDS)
def test_each_problem_has_a_sentence_and_a_step(kind: str) -> None:
    sentence, step = problem_words(Problem(kind, "abc"))
    assert ("abc" in sentence, bool(step)) == (True, True)
    assert not re.search(r"[{}]", sentence + step)


def test_check_of_a_whole_catalogue(studio: Path, capsys: Captured) -> None:
    assert main(["check"]) == 0
    assert capsys.readouterr().out == "The catalogue is whole.\n"
    assert main(["check", "--json", "--quick"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["whole"], found["problems"], found["aside"]) == (True, [], None)


def test_check_names_what_is_wrong_and_mends_what_can_be(studio: Path, capsys: Captured) -> None:
    with Catalog.open(studio) as catalog:
        lost = catalog.pieces()[0].readings[0].photo_sha256
        catalog.photos.path(lost).unlink()
        stray = catalog.photos.keep(b"stray")
    assert main(["check", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert {(p["kind"], p["what"]) for p in found["problems"]} == {
        ("missing photo", lost),
        ("unknown photo", stray),
    }
    assert main(["check", "--mend"]) == 1
    out = capsys.readouterr()
    assert "Mended." in out.out
    assert "check --mend --from BACKUP" in out.out
    assert "nothing was deleted" in out.err
    assert main(["check", "--quick"]) == 1
    assert stray not in capsys.readouterr().out


def test_backup_and_restore_from_the_command_line(studio: Path, tmp_path: Path, capsys: Captured) -> None:
    folder = str(tmp_path / "stick")
    assert main(["backup", folder, "--json"]) == 0
    first = json.loads(capsys.readouterr().out)
    assert (first["copied"], first["there_already"], len(first["kept"])) == (12, 0, 1)
    assert main(["backup", folder, "--keep", "1"]) == 0
    told = capsys.readouterr()
    assert "0 photos and files copied, 12 were there already" in told.err
    assert f"let go: {first['copy']}" in told.err
    assert told.out.endswith("\t6 pieces\t12 files\n")
    assert main(["restore", folder, "--list"]) == 0
    assert capsys.readouterr().out == told.out
    assert main(["restore", folder]) == 1
    assert "Add --set-aside" in capsys.readouterr().err
    assert main(["restore", folder, "--set-aside"]) == 0
    told = capsys.readouterr()
    assert told.out == f"6 pieces and 12 files are in {studio}\n"
    assert "kept as" in told.err
    assert main(["check"]) == 0


def test_export_and_import_from_the_command_line(
    studio: Path, tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = str(tmp_path / "studio.zip")
    assert main(["export", package]) == 0
    assert capsys.readouterr().out == f"{package}\n"
    assert main(["import", package]) == 0
    told = capsys.readouterr()
    assert told.out.startswith("It brings nothing new.\nHere already: 6 pieces, 6 readings")
    monkeypatch.setenv("GLOSTBOOK_HOME", str(tmp_path / "other"))
    assert main(["import", package]) == 0
    told = capsys.readouterr()
    assert told.out.startswith("It would bring: 6 pieces, 6 readings, 6 photos")
    assert "add --yes" in told.err
    with Catalog.open(tmp_path / "other") as catalog:
        assert catalog.count_pieces() == 0
    assert main(["import", package, "--yes", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["tables"]["piece"] == {"added": 6, "known": 0, "stays_as_here": 0}
    assert main(["check"]) == 0
    capsys.readouterr()
    again = str(tmp_path / "again.zip")
    assert main(["export", again, "--originals"]) == 0
    assert main(["export", again]) == 0
    assert Path(again).read_bytes() == Path(package).read_bytes()
    assert main(["import", str(studio / "catalogue.sqlite3")]) == 1
    assert "Nothing was changed." in capsys.readouterr().err
    assert main(["import", str(tmp_path / "not there.zip")]) == 1
