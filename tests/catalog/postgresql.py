"""A PostgreSQL server of the tests' own, and a database in it for each catalogue folder they make.

    GLOSTBOOK_TEST_DATABASE=postgresql python -m pytest tests/catalog

Needs Debian's ``postgresql`` and ``psycopg``. A folder that was copied gets a copy of its database.
"""

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from catalog.home import Home, find_home

SQLITE_ONLY = (
    "test_backup",
    "test_durability",
    "test_exchange",
    "test_home",
    "test_migrations",
    "test_package_safety",
    "test_photos",
    "test_programs",
    "test_restoring",
)
"""Modules about SQLite's file itself, or about programs that are given a folder."""

GIVEN_A_FOLDER = (
    *("test_kill_9", "test_of_two_readers"),
    *("test_a_lost_file_comes_back_from_a_backup", "test_a_folder_named_outright"),
)
"""Tests whose programs are given a folder by its name, and so work on the file in it, or that back it up."""

_NAME = "database-of-this-folder"


def program(name: str) -> str:
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    path = str(found[-1]) if found else shutil.which(name)
    if path is None:
        pytest.skip("no PostgreSQL server on this computer: apt-get install postgresql")
    return path


def as_nobody() -> dict[str, object]:
    """PostgreSQL refuses to run as root: its own user, where we are."""
    if os.geteuid() != 0:
        return {}
    user = pwd.getpwnam("postgres")
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


class Server:
    def __init__(self, port: int) -> None:
        self.port = port

    def url(self, name: str) -> str:
        return f"postgresql+psycopg://postgres@127.0.0.1:{self.port}/{name}"

    def make(self, name: str, like: str = "template1") -> None:
        import psycopg

        with psycopg.connect(
            host="127.0.0.1", port=self.port, user="postgres", dbname="postgres", autocommit=True
        ) as connection:
            connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{like}" STRATEGY file_copy')

    def home(self, given) -> Home:
        """As `find_home`, each folder with a database of its own."""
        place = find_home(given)
        place.folder.mkdir(parents=True, exist_ok=True)
        kept = place.folder / _NAME
        if kept.is_file():
            name, folder = kept.read_text(encoding="utf-8").split("\n")
            if folder != str(place.folder):
                copy = f"t{uuid.uuid4().hex}"
                self.make(copy, name)
                name = copy
        else:
            name = f"t{uuid.uuid4().hex}"
            self.make(name)
        fresh = kept.with_name(f"{_NAME}.{uuid.uuid4().hex}")
        fresh.write_text(f"{name}\n{place.folder}", encoding="utf-8")
        fresh.replace(kept)  # whole or not at all: two threads may open one folder
        return replace(place, database_url=self.url(name))


@contextmanager
def running(*, fsync: str = "off") -> Iterator[Server]:
    """Start a server; `fsync` "on" writes through to the disk, as a studio's does."""
    pytest.importorskip("psycopg", reason="psycopg is not installed: pip install 'glostbook[server]'")
    user = as_nobody()
    place = Path(tempfile.mkdtemp(prefix="glostbook-pg-"))
    try:
        if user:
            os.chown(place, user["user"], user["group"])
        data = place / "data"
        subprocess.run(
            [
                program("initdb"),
                "-D",
                data,
                "-A",
                "trust",
                "-U",
                "postgres",
                "-E",
                "UTF8",
                "--locale",
                "C.UTF-8",
            ],
            check=True,
            capture_output=True,
            cwd=place,
            **user,
        )
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        settings = f"-p {port} -k {place} -h 127.0.0.1 -c fsync={fsync} -c max_connections=300"
        control = [program("pg_ctl"), "-D", data, "-w", "-l", place / "log"]
        subprocess.run(
            [*control, "-o", settings, "start"], check=True, stdout=subprocess.DEVNULL, cwd=place, **user
        )
        try:
            yield Server(port)
        finally:
            subprocess.run(
                [*control, "-m", "immediate", "stop"], check=False, capture_output=True, cwd=place, **user
            )
    finally:
        shutil.rmtree(place, ignore_errors=True)
