"""The README must stay true: its commands, its Python, the names of commands and views."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from catalog.store import Catalog

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
VIEWS = ("Bench", "Unload", "Shelf", "Match", "Why", "Glazes", "Firings", "Ware", "Print", "Studio")


def command_names() -> list[str]:
    """Give the command line's subcommands as its own help lists them."""
    out = subprocess.run(
        [sys.executable, "-m", "app.cli", "--help"], capture_output=True, text=True, check=True, cwd=ROOT
    ).stdout
    found = re.search(r"\{([a-z,]+)\}", out)
    assert found, out
    return found.group(1).split(",")


def test_every_command_is_in_the_readme() -> None:
    missing = [name for name in command_names() if f"glostbook {name}" not in README]
    assert not missing, f"commands without a word in README.md: {missing}"


def test_readme_names_no_command_that_is_not_there() -> None:
    named = set(re.findall(r"(?:^|\s|/|`)glostbook ([a-z]+)\b", README)) - {"and"}
    assert named <= set(command_names()), named - set(command_names())


def test_every_view_is_in_the_readme() -> None:
    assert [v for v in VIEWS if f"**{v}**" not in README] == []


@pytest.mark.parametrize("name", ["open", "test"])
def test_readme_commands_are_one_line_each(name: str) -> None:
    block = README.split(f"<!-- command: {name} -->\n```sh\n")[1].split("```")[0]
    assert block.count("\n") == 1
    assert block.startswith("python3 -m venv .venv && ")


def test_readme_python_runs(tmp_path: Path) -> None:
    code = README.split("```python\n")[1].split("```")[0]
    env = {**os.environ, "GLOSTBOOK_HOME": str(tmp_path / "home")}
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=env,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "T-0001" in done.stdout, "the labels in the sample photo were not read"


def test_readme_asks_why_and_fills_frames(tmp_path: Path) -> None:
    from tests.app.conftest import fill

    with Catalog.open(tmp_path / "home") as catalog:
        fill(catalog)
    done = subprocess.run(
        [sys.executable, "-c", README.split("```python\n")[2].split("```")[0]],
        cwd=ROOT,
        env={**os.environ, "GLOSTBOOK_HOME": str(tmp_path / "home")},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "T-0006" in done.stdout
    assert "coats" in done.stdout


def test_licence_stands_at_the_end_of_the_readme() -> None:
    tail = README.split("## Licence")[-1]
    assert "MIT License" in tail
    assert "WITHOUT WARRANTY OF ANY KIND" in tail


def test_top_level_holds_only_what_the_layout_names() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout: what is tracked can't be told")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    visible = {name for name in top if not name.startswith(".")}
    assert visible == {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "app",
        "vision",
        "catalog",
        "tests",
        "sample_images",
    }


def test_the_pictures_of_the_screens_are_there_and_small() -> None:
    """Each named in the README, written by the one script, together under 1.5 MB."""
    folder = ROOT / "sample_images" / "screens"
    script = (ROOT / "sample_images" / "render_screens.py").read_text(encoding="utf-8")
    shown = set(re.findall(r"\(sample_images/screens/([a-z]+)\.webp\)", README))
    kept = {path.stem for path in folder.glob("*.webp")}
    assert shown
    assert shown <= kept
    assert all(f'"{name}":' in script for name in kept)
    assert sum(path.stat().st_size for path in folder.iterdir()) < 1_500_000
