"""Teaching the card from the command line and on the Print view, and reading by it."""

import json
from pathlib import Path

import cv2
import pytest
from streamlit.testing.v1 import AppTest

from app.cli import main
from catalog.store import Catalog
from tests.vision.test_taught import SHOT, scene

MAIN = Path(__file__).parents[2] / "app" / "main.py"


@pytest.fixture(scope="module")
def shots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cards")
    for name, with_chart in (("together.png", True), ("card.png", False)):
        cv2.imwrite(str(folder / name), scene(with_chart, SHOT)[..., ::-1])
    return folder


def test_teach_then_read(
    shots: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("GLOSTBOOK_HOME", str(tmp_path / "home"))
    assert main(["read", "--json", str(shots / "card.png")]) == 0
    assert json.loads(capsys.readouterr().out)[0]["calibration"]["taught"] is None
    assert not (tmp_path / "home").exists(), "reading makes no catalogue"
    assert main(["teach", str(shots / "card.png")]) == 1
    told = capsys.readouterr()
    assert "no 24-patch colour chart was found" in told.err
    assert told.out == ""
    assert main(["teach", str(shots / "together.png"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["layout"] == "A6"
    assert main(["read", "--json", str(shots / "card.png")]) == 0
    calibration = json.loads(capsys.readouterr().out)[0]["calibration"]
    assert calibration["kind"] == "card"
    assert calibration["taught"]["age_days"] == 0
    assert main(["read", str(shots / "card.png")]) == 0
    assert "colour balanced by the card as it was taught on " in capsys.readouterr().out


def test_the_print_view_teaches_and_forgets(
    shots: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GLOSTBOOK_HOME", str(tmp_path / "home"))
    app = AppTest.from_file(str(MAIN), default_timeout=60).run()
    app.switch_page("views/print.py").run()
    given = (shots / "together.png").read_bytes()
    app.file_uploader(key="teach_photo").set_value([("together.png", given, "image/png")]).run()
    next(b for b in app.button if b.label == "Teach the card").click().run()
    assert not app.exception
    assert any("Card A6, taught on" in m.value for m in app.markdown)
    next(b for b in app.button if b.label == "Forget it").click().run()
    with Catalog.open(tmp_path / "home") as catalog:
        assert catalog.cards.taught() == ()
