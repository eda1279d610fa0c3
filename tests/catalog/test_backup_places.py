"""Where the app's own backup may go: what a terminal or the user's home says, and nowhere else."""

from pathlib import Path

import pytest

from catalog.backup_places import allowed_place, chosen_places, note_place
from catalog.errors import BackupPlaceError
from catalog.home import Home


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path / "user"))
    place = Home(tmp_path / "user" / "pots", photos_url=(tmp_path / "shelf").as_uri())
    place.folder.mkdir(parents=True)
    return place


def why_not(home, folder):
    with pytest.raises(BackupPlaceError) as caught:
        allowed_place(home, Path(folder))
    return caught.value.reason


def test_a_folder_in_the_home_is_allowed_whether_it_is_there_or_not(home, tmp_path):
    assert allowed_place(home, Path("~/backup")) == tmp_path / "user" / "backup"
    assert not (tmp_path / "user" / "backup").exists()


def test_the_catalogues_own_folders_are_refused(home, tmp_path):
    for place in (home.folder, home.folder / "inside", home.folder.parent, tmp_path / "shelf" / "a"):
        assert "own folder" in why_not(home, place)


@pytest.mark.parametrize(
    "folder", ["/", "/etc", "/etc/cron.d", "/usr/local/x", "/var/www", "/proc/1", "/dev/x"]
)
def test_the_systems_folders_are_refused_even_where_a_terminal_named_them(tmp_path, monkeypatch, folder):
    monkeypatch.setenv("HOME", "/")
    home = Home(tmp_path)
    note_place(home, Path(folder))
    assert ("system" in why_not(home, folder)) or folder == "/"


def test_other_folders_are_allowed_once_a_terminal_named_them(home, tmp_path):
    stick = tmp_path / "stick"
    assert "terminal" in why_not(home, stick)
    note_place(home, tmp_path / "other")
    note_place(home, stick)
    note_place(home, stick)
    assert chosen_places(home) == (stick, tmp_path / "other")
    assert allowed_place(home, stick) == stick
    assert "terminal" in why_not(home, stick / "deeper")


def test_neither_links_nor_dots_lead_out(home, tmp_path):
    (tmp_path / "user" / "link").symlink_to("/etc")
    (tmp_path / "user" / "away").symlink_to(tmp_path / "elsewhere")
    assert "system" in why_not(home, Path("~/link/x"))
    assert "terminal" in why_not(home, Path("~/away"))
    assert "terminal" in why_not(home, Path("~/../elsewhere"))
    assert "hidden" in why_not(home, Path("~/.ssh/x"))


def test_a_list_that_cannot_be_read_allows_nothing(home, tmp_path):
    (home.folder / "backup-folders.json").write_text('{"half')
    assert chosen_places(home) == ()
