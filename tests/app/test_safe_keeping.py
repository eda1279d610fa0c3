"""The Studio view backs up, hands on and takes in, in plain words."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from app.cli import main
from app.services.keeping import (
    backed_up,
    chosen_folder,
    copies_in,
    look_at_upload,
    package_bytes,
    take_upload,
)
from catalog.backup import backup_copies
from catalog.errors import BackupPlaceError
from catalog.exchange.errors import PackageError
from catalog.exchange.export import export_package
from catalog.store import Catalog

MAIN = str(Path(__file__).parents[2] / "app" / "main.py")


def opened() -> AppTest:
    return AppTest.from_file(MAIN, default_timeout=60).run().switch_page("views/studio.py").run()


def said(app: AppTest) -> str:
    return " ".join(element.proto.body for element in app.get("html"))


def button(app: AppTest, label: str):
    return next(each for each in app.button if each.label == label)


def test_a_backup_from_the_screen(studio: Path, tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    app = opened()
    assert button(app, "Back up now").disabled
    field = next(each for each in app.text_input if each.label == "Folder for the backup")
    field.set_value(str(tmp_path / "stick")).run()
    button(app, "Back up now").click().run()
    assert not app.exception
    assert "Backed up and read back: 6 pieces, 12 files copied, 0 were there already." in said(app)
    assert len(backup_copies(tmp_path / "stick")) == 1
    assert "6 pieces" in " ".join(each.value for each in app.markdown)


def test_a_folder_that_cannot_be_used_is_named(studio: Path) -> None:
    app = opened()
    field = next(each for each in app.text_input if each.label == "Folder for the backup")
    field.set_value(str(studio / "inside")).run()
    button(app, "Back up now").click().run()
    assert not app.exception
    assert "own folder and would be lost with it" in said(app)


def test_the_screen_writes_and_looks_only_where_a_terminal_or_the_home_says(
    studio: Path, tmp_path: Path
) -> None:
    with Catalog.open(studio) as catalog:
        with pytest.raises(BackupPlaceError) as caught:
            backed_up(catalog, str(tmp_path / "stick"))
        assert "glostbook backup FOLDER" in caught.value.reason
        assert not (tmp_path / "stick").exists()
        with pytest.raises(BackupPlaceError):
            copies_in(catalog, str(tmp_path / "stick"))
        assert chosen_folder(catalog) == ""
    assert main(["backup", str(tmp_path / "stick")]) == 0
    with Catalog.open(studio) as catalog:
        assert chosen_folder(catalog) == str(tmp_path / "stick")
        assert backed_up(catalog, str(tmp_path / "stick"))[0].endswith("Copies kept: 2.")
        assert len(copies_in(catalog, str(tmp_path / "stick"))) == 2


def test_the_package_from_the_screen_is_the_one_of_the_command(studio: Path, tmp_path: Path) -> None:
    app = opened()
    button(app, "Make the package").click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        made = package_bytes(catalog, originals=False)
        assert made is not None
        assert made[0] == export_package(catalog, tmp_path / "a.zip").place.read_bytes()


def test_an_uploaded_package_is_shown_before_it_is_taken(studio: Path, tmp_path: Path) -> None:
    with Catalog.open(studio) as catalog:
        made = package_bytes(catalog, originals=False)
    assert made is not None
    with Catalog.open(tmp_path / "other") as other:
        seen = look_at_upload(other, made[0], "../../<b>studio.zip")
        assert seen.brings
        assert seen.lines[0].startswith("It would bring: 6 pieces")
        assert other.count_pieces() == 0
        assert take_upload(other, made[0], "studio.zip")[0].startswith("Brought in: 6 pieces")
        assert other.count_pieces() == 6
        assert not look_at_upload(other, made[0], "studio.zip").brings
        with pytest.raises(PackageError):
            look_at_upload(other, made[0][:1000], "studio.zip")
    assert not list(tmp_path.glob("*.zip"))


def test_the_package_field_takes_one_in(studio: Path, tmp_path: Path, monkeypatch) -> None:
    with Catalog.open(studio) as catalog:
        made = package_bytes(catalog, originals=False)
    assert made is not None
    monkeypatch.setenv("GLOSTBOOK_HOME", str(tmp_path / "fresh"))
    app = opened()
    uploader = next(each for each in app.get("file_uploader") if each.proto.label == "Package")
    app.file_uploader(key=uploader.key).upload("studio.zip", made[0], "application/zip").run()
    assert not app.exception
    assert "It would bring: 6 pieces" in said(app)
    button(app, "Bring it in").click().run()
    assert "Brought in: 6 pieces" in said(app)
    with Catalog.open(tmp_path / "fresh") as other:
        assert other.count_pieces() == 6
