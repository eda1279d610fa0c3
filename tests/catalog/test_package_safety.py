"""Packages made to do harm, and packages cut short: refused by name, and nothing of them is kept."""

import csv
import hashlib
import io
import json
import os
import shutil
import stat
import struct
import subprocess
import sys
import time
import zipfile

import pytest

from catalog.checkup import find_problems
from catalog.errors import CatalogError
from catalog.exchange.errors import NewerPackageError, PackageError
from catalog.exchange.export import export_package
from catalog.exchange.take import look_at_package, take_package
from catalog.records import Layer, PieceDraft
from catalog.store import Catalog
from tests.catalog.exchange_studio import jpeg, row_counts


@pytest.fixture
def package(catalog, photo, tmp_path):
    """A small whole package as a dict of its files."""
    load = catalog.add_load("October")
    catalog.file_photo(
        jpeg(1), photo(), [PieceDraft(0, layers=(Layer(None, "slip"),))], load.id, {0: jpeg(2, private=False)}
    )
    catalog.add_judgement("T-0001", "fault", "crazed", "present")
    place = export_package(catalog, tmp_path / "whole.zip", originals=True).place
    with zipfile.ZipFile(place) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def write(path, files, *, method=zipfile.ZIP_STORED, entries=()):
    with zipfile.ZipFile(path, "w", method) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
        for entry, data in entries:
            archive.writestr(entry, data)
    return path


def described(files):
    """Put right the digests in datapackage.json, so that only the change itself is wrong."""
    told = json.loads(files["datapackage.json"])
    for resource in told["resources"]:
        if resource["path"] in files:
            resource["hash"] = "sha256:" + hashlib.sha256(files[resource["path"]]).hexdigest()
    return {**files, "datapackage.json": json.dumps(told).encode()}


def with_table(files, name, change):
    """Change the rows of a table, given as a list of dicts."""
    path = f"data/{name}.csv"
    rows = list(csv.DictReader(io.StringIO(files[path].decode(), newline="")))
    header = list(rows[0])
    change(rows)
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, header, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return described({**files, path: out.getvalue().encode()})


@pytest.fixture
def refuses(tmp_path, fresh_home):
    """Give a function that takes a package and holds that it is refused and leaves nothing behind."""
    counter = iter(range(1000))

    def refused(path, match=None):
        home = tmp_path / f"home{next(counter)}"
        shutil.copytree(fresh_home, home)
        with Catalog.open(home) as catalog:
            before = row_counts(catalog)
            for run in (look_at_package, take_package):
                with pytest.raises(CatalogError, match=match) as caught:
                    run(catalog, path)
                assert isinstance(caught.value, PackageError | NewerPackageError)
            assert row_counts(catalog) == before
        outside = {p.name for p in tmp_path.iterdir()} - {path.name, "home", "whole.zip"}
        assert all(name.startswith("home") or name.endswith(".zip") for name in outside)

    return refused


# --- names and links


@pytest.mark.parametrize(
    "name",
    [
        "../outside.txt", "/etc/cron.d/x", "photos/../../x", "C:\\x", "photos\\..\\x", "data/../x.csv",
        "photos/" + "a" * 63, "photos/" + "A" * 64, "photos/" + "a" * 64 + ".jpg/x", "x.py",
        "data/PIECE.csv", ".", "data/",
    ],
)  # fmt: skip
def test_no_name_leads_anywhere(package, refuses, tmp_path, name):
    refuses(write(tmp_path / "bad.zip", {**package, name: b"x"}), "called so|there twice")


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFBLK, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFDIR])
def test_links_and_devices_are_refused(package, refuses, tmp_path, kind):
    entry = zipfile.ZipInfo("photos/" + "a" * 64 + ".jpg")
    entry.create_system = 3
    entry.external_attr = (kind | 0o777) << 16
    refuses(write(tmp_path / "bad.zip", package, entries=[(entry, b"/etc/passwd")]), "link or no plain file")


def test_a_tar_with_hard_links_is_no_package(refuses, tmp_path):
    import tarfile

    place = tmp_path / "bad.zip"
    with tarfile.open(place, "w") as archive:
        link = tarfile.TarInfo("photos/" + "a" * 64)
        link.type, link.linkname = tarfile.LNKTYPE, "/etc/passwd"
        archive.addfile(link)
    refuses(place, "no zip file")


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_is_there_twice_is_refused(package, refuses, tmp_path):
    entry = zipfile.ZipInfo("data/piece.csv")
    refuses(write(tmp_path / "bad.zip", package, entries=[(entry, b"other")]), "there twice")


def test_a_locked_package_is_refused(package, refuses, tmp_path):
    data = bytearray(write(tmp_path / "bad.zip", package).read_bytes())
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data[at + 8] |= 1
        at = data.find(b"PK\x01\x02", at + 4)
    (tmp_path / "bad.zip").write_bytes(data)
    refuses(tmp_path / "bad.zip", "password")


# --- bombs


def test_a_table_that_swells_is_refused_before_it_is_unpacked(package, refuses, tmp_path):
    bomb = {**package, "data/piece.csv": b"\x00" * (200 * 2**20)}
    path = write(tmp_path / "bad.zip", bomb, method=zipfile.ZIP_DEFLATED)
    assert path.stat().st_size < 2 * 2**20
    refuses(path, "swells")


def test_a_file_that_lies_about_its_size_is_refused(package, refuses, tmp_path):
    path = write(tmp_path / "bad.zip", package, method=zipfile.ZIP_DEFLATED)
    data = bytearray(path.read_bytes())
    at = data.find(b"PK\x01\x02")
    while data[at + 46 : at + 46 + 16] != b"datapackage.json":
        at = data.find(b"PK\x01\x02", at + 4)
    data[at + 24 : at + 28] = struct.pack("<I", 100)
    path.write_bytes(data)
    refuses(path)


def test_files_that_share_their_bytes_are_refused(package, refuses, tmp_path):
    """Fifield, "A better zip bomb" (WOOT 2019): many names, one packed file."""
    path = write(tmp_path / "bad.zip", package)
    data = bytearray(path.read_bytes())
    heads = []
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        heads.append(at)
        at = data.find(b"PK\x01\x02", at + 4)
    first, second = heads[0], heads[1]
    data[second + 42 : second + 46] = data[first + 42 : first + 46]
    path.write_bytes(data)
    refuses(path, "shares|damaged")


def test_a_photo_that_is_a_picture_bomb_never_reaches_a_screen(package, refuses, tmp_path):
    """A PNG head that claims 60 000 by 60 000 pixels, filed as the picture of a piece."""
    import zlib

    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    chunk = b"IHDR" + head
    bomb = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk + struct.pack(">I", zlib.crc32(chunk))
    name = hashlib.sha256(bomb).hexdigest()
    changed = with_table(package, "reading", lambda rows: rows[0].update(view_sha256=name))
    refuses(write(tmp_path / "bad.zip", {**changed, f"views/{name}.png": bomb}), "picture")


# --- half files


def test_a_package_cut_short_anywhere_is_refused(package, tmp_path, refuses):
    whole = write(tmp_path / "whole2.zip", package).read_bytes()
    for share in (0.0, 0.1, 0.5, 0.9, 0.999):
        path = tmp_path / "cut.zip"
        path.write_bytes(whole[: int(len(whole) * share)])
        refuses(path)


def test_a_changed_photo_is_refused(package, tmp_path, refuses):
    name = next(name for name in package if name.startswith("photos/"))
    refuses(write(tmp_path / "bad.zip", {**package, name: package[name] + b"x"}), "not those its name")


@pytest.mark.parametrize("folder", ["photos", "views"])
def test_a_missing_file_is_refused(package, tmp_path, refuses, folder):
    rest = {name: data for name, data in package.items() if not name.startswith(f"{folder}/")}
    refuses(write(tmp_path / "bad.zip", rest), "not in the package")


def test_a_table_changed_by_hand_without_its_description_is_refused(package, tmp_path, refuses):
    changed = package["data/load.csv"].replace(b"October", b"Octopus")
    refuses(write(tmp_path / "bad.zip", {**package, "data/load.csv": changed}), "describes")


def test_what_is_no_photo_is_refused(package, tmp_path, refuses):
    page = b"<html><script>alert(1)</script>"
    name = hashlib.sha256(page).hexdigest()
    changed = with_table(package, "photo", lambda rows: rows[0].update(sha256=name))
    changed = with_table(changed, "reading", lambda rows: rows[0].update(photo_sha256=name))
    refuses(write(tmp_path / "bad.zip", {**changed, f"photos/{name}.jpg": page}), "no photo")


# --- rows


@pytest.mark.parametrize(
    ("table", "column", "value", "match"),
    [
        ("piece", "uid", "../../x", "no name of a row"),
        ("piece", "load_uid", "0" * 32, "not in load.csv"),
        ("piece", "code", "two words", "code"),
        ("piece", "code", "", "code"),
        ("piece", "kind", "spoon", "breaks a rule"),
        ("piece", "facts", '{"nothing.known": 1', "facts"),
        ("piece", "facts", "[]", "object wanted"),
        ("piece", "filed_at", "yesterday", "filed_at"),
        ("reading", "tile", "{}", "no reading"),
        ("reading", "tile", '{"subject": "tile"}', "no reading"),
        ("reading", "photo_flags", '["NOT_A_FLAG"]', "no reading"),
        ("reading", "photo_sha256", "f" * 64, "not in photo.csv"),
        ("reading", "tile_index", "-1", "breaks a rule"),
        ("reading", "mm_per_px", "inf", "finite"),
        ("reading", "superseded_by_uid", "f" * 32, "not in it"),
        ("palette", "fraction", "7", "breaks a rule"),
        ("judgement", "verdict", "sold", "breaks a rule"),
        ("load", "fired_on", "31.12.2026", "fired_on"),
        ("photo", "sha256", "xyz", "no name of a row or file"),
        ("load", "atmosphere", "smoke", "atmosphere"),
        ("load", "cone_aimed", "hot", "cone"),
        ("layer", "name", "", "name of the glaze"),
        ("reading", "method", "[]", "object wanted"),
    ],
)
def test_a_row_that_cannot_be_is_refused_by_its_place(
    package, tmp_path, refuses, table, column, value, match
):
    changed = with_table(package, table, lambda rows: rows[0].update({column: value}))
    refuses(write(tmp_path / "bad.zip", changed), match)


def test_rows_given_twice_are_refused(package, tmp_path, refuses):
    for table in ("piece", "reading", "judgement"):
        changed = with_table(package, table, lambda rows: rows.append(dict(rows[0])))
        refuses(write(tmp_path / "bad.zip", changed), "twice")


def test_a_package_of_a_later_version_is_left_alone(package, tmp_path):
    told = json.loads(package["datapackage.json"])
    told["glostbook"]["catalogue_format"] = "9999"
    path = write(tmp_path / "new.zip", {**package, "datapackage.json": json.dumps(told).encode()})
    with Catalog.open(tmp_path / "home2") as catalog, pytest.raises(NewerPackageError) as caught:
        take_package(catalog, path)
    assert caught.value.found == "9999"


@pytest.mark.parametrize("text", [b"", b"[]", b"{", b"{}", b'{"glostbook": {}}', b"[" * 200_000, b"\xff"])
def test_a_description_that_is_none_is_refused(package, tmp_path, refuses, text):
    refuses(write(tmp_path / "bad.zip", {**package, "datapackage.json": text}))


def test_an_older_package_without_a_later_column_is_taken(package, tmp_path):
    """What the present version added since is filled in as unknown."""
    lines = package["data/load.csv"].decode().split("\r\n")
    header = lines[0].split(",")
    keep = [i for i, name in enumerate(header) if name not in ("atmosphere", "notes")]
    rows = [",".join(next(csv.reader([line]))[i] for i in keep) for line in lines if line]
    changed = described({**package, "data/load.csv": "\r\n".join([*rows, ""]).encode()})
    without = {name: data for name, data in changed.items() if "piece_side" not in name}
    with Catalog.open(tmp_path / "home2") as catalog:
        take_package(catalog, write(tmp_path / "old.zip", without))
        assert (catalog.loads()[0].atmosphere, catalog.loads()[0].notes) == (None, "")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_taking_a_package_killed_anywhere_brings_all_or_nothing(package, tmp_path, fresh_home):
    path = write(tmp_path / "p.zip", package)
    script = (
        "import sys; from pathlib import Path; from catalog.store import Catalog\n"
        "from catalog.exchange.take import take_package\n"
        "c = Catalog.open(sys.argv[1]); print('go', flush=True); take_package(c, Path(sys.argv[2]))\n"
    )
    seen = set()
    for number, wait in enumerate((0.0, 0.02, 0.04, 0.06, 0.08, 0.1, 0.5)):
        home = tmp_path / f"home{number}"
        shutil.copytree(fresh_home, home)
        program = subprocess.Popen(
            [sys.executable, "-c", script, str(home), str(path)], stdout=subprocess.PIPE
        )
        program.stdout.readline()
        time.sleep(wait)
        program.kill()
        program.communicate(timeout=30)
        with Catalog.open(home) as catalog:
            assert {p.kind for p in find_problems(catalog)} <= {"unknown photo", "unknown view"}
            counts = row_counts(catalog)
            came = {counts[name] for name in ("piece", "reading", "judgement")}
            assert came in ({0}, {1})
            seen |= came
            take_package(catalog, path)
            assert find_problems(catalog) == ()
    assert 1 in seen


def test_a_packed_package_is_taken_as_well(package, tmp_path):
    """Somebody may have packed the files anew, with compression."""
    path = write(tmp_path / "packed.zip", package, method=zipfile.ZIP_DEFLATED)
    with Catalog.open(tmp_path / "home2") as catalog:
        assert take_package(catalog, path).counts["piece"].added == 1
