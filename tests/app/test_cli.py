"""The command line as others see it: JSON by contract, exit codes, one sentence for each bad input."""

import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from app.cli import build_parser, main
from catalog.casebook.case import case_of
from catalog.store import Catalog

SCHEMAS = Path(__file__).with_name("schemas")
Captured = pytest.CaptureFixture[str]


def check(name: str, value: object) -> None:
    schema = json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(value)


def strict_json(text: str) -> object:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON (RFC 8259)")

    return json.loads(text, parse_constant=refuse)


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "recipe.csv"
    path.write_text(
        "material,amount\npotash feldspar,40\nwhiting,20\nkaolin,10\nquartz,30\n", encoding="utf-8"
    )
    return path


@pytest.fixture
def schedule(tmp_path: Path) -> Path:
    path = tmp_path / "schedule.csv"
    path.write_text("rate_c_per_h,target_c,hold_min\n100,1100,0\n60,1220,0\n", encoding="utf-8")
    return path


def test_match_gives_the_nearest_first_by_the_contract(studio: Path, capsys: Captured) -> None:
    assert main(["match", "--lab", "38", "-2", "-22", "--limit", "3", "--json"]) == 0
    found = strict_json(capsys.readouterr().out)
    check("match", found)
    assert [m["tile"] for m in found][:2] == ["T-0001", "T-0002"]
    assert found[0]["delta_e_00"] == pytest.approx(0, abs=1e-3)
    assert found == sorted(found, key=lambda m: m["delta_e_00"])
    assert main(["match", "--lab", "38", "-2", "-22"]) == 0
    assert capsys.readouterr().out.startswith("T-0001\t0.0\tnot visible")


@pytest.mark.parametrize(
    ("named", "first"),
    [
        (["--lch", "38", "22.09", "264.8"], "T-0001"),  # L* 38, a* -2, b* -22 of conftest's blue
        (["--hex", "#e2dfd5"], "T-0003"),
        (["--palette", "#e2dfd5 70, #ffffff 30"], "T-0003"),
        (["--like", "t-0005"], "T-0006"),
        (["--lab", "38", "-2", "-22", "--body", "dark stoneware"], "T-0002"),
        (["--lab", "90", "1", "6", "--corrected"], "T-0003"),
        (["--lab", "38", "-2", "-22", "--finish", "matt"], "T-0003"),
    ],
)
def test_match_takes_colours_as_people_write_them(
    studio: Path, capsys: Captured, named: list[str], first: str
) -> None:
    assert main(["match", *named, "--limit", "3", "--json"]) == 0
    found = strict_json(capsys.readouterr().out)
    assert found[0]["tile"] == first
    assert [m["delta_e_00"] for m in found] == sorted(m["delta_e_00"] for m in found)


def test_match_can_leave_out_what_has_faults(studio: Path, capsys: Captured) -> None:
    assert main(["match", "--lab", "27", "8", "12", "--faultless", "--json"]) == 0
    assert {m["tile"] for m in strict_json(capsys.readouterr().out)} == {"T-0001", "T-0002", "T-0003"}


@pytest.mark.parametrize(
    "named", [["--hex", "blue"], ["--palette", "#345a7c x"], ["--lab", "1", "2", "3", "--body", "Porcelain"]]
)
def test_a_colour_that_is_none_is_one_sentence(studio: Path, capsys: Captured, named: list[str]) -> None:
    assert main(["match", *named]) == 1
    out = capsys.readouterr()
    assert out.out == ""
    assert "Give " in out.err
    assert "Traceback" not in out.err


def test_match_in_an_empty_catalogue_says_how_to_begin(empty_home: Path, capsys: Captured) -> None:
    assert main(["match", "--lab", "50", "0", "0", "--json"]) == 0
    assert strict_json(capsys.readouterr().out) == []
    assert main(["match", "--lab", "50", "0", "0"]) == 0
    assert "glostbook unload" in capsys.readouterr().err


def test_why_of_a_filed_piece_names_the_cone_that_went_over(studio: Path, capsys: Captured) -> None:
    assert main(["why", "T-0006", "--json"]) == 0
    found = strict_json(capsys.readouterr().out)
    check("why", found)
    assert found["fault"] == "blister"
    over = next(cause for cause in found["causes"] if cause["cause"] == "B01_overfire")
    assert any("cone" in line and "8" in line for line in over["for"])
    assert sum(cause["probability"] for cause in found["causes"]) == pytest.approx(1, abs=2e-3)


def test_trials_lists_prediction_labels_and_outcome(studio: Path, capsys: Captured) -> None:
    with Catalog.open() as catalog:
        case = case_of(catalog, "T-0001", "blister")
        about = case.diagnosis.next_trials[0].about
        kept = catalog.casebook.plan_trial("T-0001", case.diagnosis, about)
    assert main(["trials", "--json"]) == 0
    (record,) = strict_json(capsys.readouterr().out)
    assert (record["trial"], record["tile"], record["outcome"]) == (kept.id, "T-0001", None)
    assert [p["tile"] for p in record["pieces"]] == [p.code for p in kept.pieces]
    assert record["prediction"] == pytest.approx(kept.prediction, abs=1e-4)
    assert main(["trials"]) == 0
    line = capsys.readouterr().out
    assert all(part.code in line for part in kept.pieces)
    assert "waiting" in line


def test_outcomes_go_to_another_catalogue_and_are_undone(
    studio: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    with Catalog.open() as catalog:
        case = case_of(catalog, "T-0001", "blister")
        pair = case.diagnosis.causes[0].pair_id
        kept = catalog.casebook.keep_word("T-0001", "blister", pair, "confirmed", case.plain_facts)
    assert main(["outcomes", "--json"]) == 0
    handed = tmp_path / "outcomes.json"
    handed.write_text(capsys.readouterr().out, encoding="utf-8")
    assert main(["outcomes", "--undo", str(kept.id)]) == 0
    assert main(["outcomes"]) == 0
    assert capsys.readouterr().out == ""
    monkeypatch.setenv("GLOSTBOOK_HOME", str(tmp_path / "elsewhere"))
    for told in ("1 added, 0 known already", "0 added, 1 known already"):
        assert main(["outcomes", "--take", str(handed)]) == 0
        assert told in capsys.readouterr().err
    assert main(["outcomes"]) == 0
    assert pair in capsys.readouterr().out


def test_why_from_facts_by_the_contract(tmp_path: Path, capsys: Captured) -> None:
    path = tmp_path / "facts.json"
    path.write_text(
        json.dumps({"fault": "blister", "facts": {"firing.cone_over_target": 2}}), encoding="utf-8"
    )
    assert main(["why", "--facts", str(path), "--json"]) == 0
    hot = strict_json(capsys.readouterr().out)
    check("why", hot)
    path.write_text(
        json.dumps({"fault": "blister", "facts": {"firing.cone_over_target": -2}}), encoding="utf-8"
    )
    assert main(["why", "--facts", str(path), "--json"]) == 0
    cool = strict_json(capsys.readouterr().out)

    def share(found: dict, cause: str) -> float:
        return next(c["probability"] for c in found["causes"] if c["cause"] == cause)

    assert share(hot, "B01_overfire") > share(cool, "B01_overfire")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ('{"fault": "blister", "facts": {"firing.cone_over_targt": 2}}', "firing.cone_over_target"),
        ('{"fault": "blistr", "facts": {}}', "blister"),
        ('{"fault": "blister", "facts": {"firing.cone_over_target": "hot"}}', "number"),
        ('{"facts": {}}', "fault"),
        ("[1, 2", "JSON"),
    ],
)
def test_a_wrong_facts_file_is_one_sentence(
    content: str, told: str, tmp_path: Path, capsys: Captured
) -> None:
    path = tmp_path / "facts.json"
    path.write_text(content, encoding="utf-8")
    assert main(["why", "--facts", str(path), "--json"]) == 1
    out = capsys.readouterr()
    assert out.out == ""
    assert told in out.err
    assert len(out.err.strip().splitlines()) == 1


def test_formula_by_the_contract(recipe: Path, capsys: Captured) -> None:
    assert main(["formula", str(recipe), "--json"]) == 0
    found = strict_json(capsys.readouterr().out)
    check("formula", found)
    assert sum(found["wt_pct"].values()) == pytest.approx(100, abs=0.05)
    assert sum(found["mol_pct"].values()) == pytest.approx(100, abs=0.05)
    fluxes = [oxide for oxide in found["unity_fluxes"] if oxide in found["unity"]]
    assert sum(found["unity"][oxide] for oxide in fluxes) == pytest.approx(1, abs=1e-3)  # Seger's rule


def test_heatwork_by_the_contract(schedule: Path, capsys: Captured) -> None:
    assert main(["heatwork", str(schedule), "--json"]) == 0
    found = strict_json(capsys.readouterr().out)
    check("heatwork", found)
    # Published chart, self-supporting cones, 60 °C/h: cone 5.5 ends at 1203 °C, cone 6 at 1222 °C
    # (manufacturer's chart of 2016, two copies; catalog/firing/data/cones.csv)
    assert found["cone"] == "5.5"
    assert found["fraction"] > 0.8


@pytest.mark.parametrize(
    ("command", "content", "told"),
    [
        ("formula", "name,weight\nwhiting,20\n", "material"),
        ("formula", "material,amount\nmoon dust,20\n", "moon dust"),
        ("formula", "material,amount\nwhiting,lots\n", "lots"),
        ("heatwork", "a,b\n1,2\n", "rate_c_per_h"),
        ("heatwork", "rate_c_per_h,target_c,hold_min\nfast,1000,0\n", "fast"),
    ],
)
def test_a_wrong_csv_is_one_sentence(
    command: str, content: str, told: str, tmp_path: Path, capsys: Captured
) -> None:
    path = tmp_path / "given.csv"
    path.write_text(content, encoding="utf-8")
    assert main([command, str(path), "--json"]) == 1
    out = capsys.readouterr()
    assert out.out == ""
    assert told in out.err
    assert len(out.err.strip().splitlines()) == 1


@pytest.mark.parametrize("command", ["formula", "heatwork"])
def test_a_missing_file_is_one_sentence(command: str, tmp_path: Path, capsys: Captured) -> None:
    assert main([command, str(tmp_path / "absent.csv"), "--json"]) == 1
    assert "absent.csv" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["sing"],
        ["read"],
        ["read", "--as", "spoon", "x.jpg"],
        ["unload", "x.jpg"],
        ["match"],
        ["match", "--lab", "1", "2"],
        ["match", "--lab", "1", "2", "3", "--limit", "0"],
        ["match", "--lab", "1", "2", "3", "--limit", "few"],
        ["read", "x.jpg", "--thickness-mm", "thick"],
        ["why"],
        ["why", "T-1", "--facts", "f.json"],
        ["card", "--size", "A3", "x.pdf"],
        ["open", "--port", "99999"],
    ],
)
def test_wrong_use_is_exit_code_2(words: list[str], capsys: Captured) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(words)
    assert stopped.value.code == 2
    out = capsys.readouterr()
    assert out.out == ""
    assert "usage: glostbook" in out.err
    assert "_" not in out.err.splitlines()[-1], "no name of a function"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["outcomes", "--undo", "99"], "No outcome 99 is kept."),
        (["stage", "bisqued"], "Nothing is given for the pieces. Give codes of pieces."),
        (["match", "--hex", "zz"], "The colour cannot be 'zz'."),
        (["unload", "absent.jpg", "--load", "Never"], "absent.jpg is not there."),
        (["check", "--from", "elsewhere"], "give --mend with it"),
        (["export", "."], "Name a file in it"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_changes_nothing(
    words: list[str],
    told: str,
    studio: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: Captured,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(words) in (1, 2)
    out = capsys.readouterr()
    assert told in out.err
    assert len(out.err.strip().splitlines()) == 1
    with Catalog.open(studio) as catalog:
        assert "Never" not in [load.name for load in catalog.loads()]


def test_an_unknown_piece_names_the_nearest(studio: Path, capsys: Captured) -> None:
    assert main(["why", "T-0066"]) == 1
    assert "T-0006" in capsys.readouterr().err


def test_card_is_written_where_asked(tmp_path: Path, capsys: Captured) -> None:
    out = tmp_path / "card.pdf"
    assert main(["card", "--size", "A5", str(out)]) == 0
    assert out.read_bytes().startswith(b"%PDF-")
    assert capsys.readouterr().out.strip() == str(out)
    assert main(["card", str(tmp_path / "absent" / "card.pdf")]) == 1
    assert "card.pdf" in capsys.readouterr().err


def test_demo_says_what_to_do_where_own_work_is(studio: Path, capsys: Captured) -> None:
    with Catalog.open(studio) as catalog:
        catalog.add_load("My own firing")
        count = catalog.count_pieces()
    folder = Path(__file__).parents[2] / "sample_images"
    assert main(["demo", "--from", str(folder)]) == 1
    assert "--fresh" in capsys.readouterr().err
    with Catalog.open(studio) as catalog:
        assert catalog.count_pieces() == count


def test_demo_without_photos_says_so(empty_home: Path, tmp_path: Path, capsys: Captured) -> None:
    assert main(["demo", "--from", str(tmp_path)]) == 1
    assert "scenario.json" in capsys.readouterr().err


def test_a_missing_shared_library_is_one_sentence(photos: Path, tmp_path: Path) -> None:
    """As on a bare Debian: importing OpenCV fails with the loader's own words."""
    fake = tmp_path / "cv2"
    fake.mkdir()
    (fake / "__init__.py").write_text(
        'raise ImportError("libGL.so.1: cannot open shared object file: No such file or directory")'
    )
    env = {**os.environ, "PYTHONPATH": f"{tmp_path}{os.pathsep}{Path(__file__).parents[2]}"}
    done = subprocess.run(
        [sys.executable, "-m", "app.cli", "read", str(photos / "blue.jpg")],
        capture_output=True,
        text=True,
        env=env,
        check=False,
    )
    assert done.returncode == 1
    assert "apt-get install libgl1" in done.stderr
    assert "Traceback" not in done.stderr


def test_every_command_has_help() -> None:
    helps = build_parser().format_help()
    for name in ("read", "unload", "match", "why", "formula", "heatwork", "demo", "card", "open"):
        assert name in helps


def test_open_serves_the_app_on_the_loopback_until_told_to_stop(empty_home: Path) -> None:
    import signal
    import urllib.request

    process = subprocess.Popen(
        [sys.executable, "-m", "app.cli", "open", "--no-browser"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        assert address.startswith("http://127.0.0.1:")
        with urllib.request.urlopen(address, timeout=20) as answer:  # noqa: S310 - loopback
            assert b"<title>" in answer.read()
    finally:
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=20)
    assert process.returncode == 0
    with pytest.raises(OSError, match="refused"):
        urllib.request.urlopen(address, timeout=5)  # noqa: S310 - loopback
