"""The command line as others see it: JSON by contract, exit codes, one sentence for each bad input."""

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from PIL import Image

from app.cli import build_parser, main
from catalog.casebook.case import case_of
from catalog.checkup import find_problems
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


def test_read_gives_one_object_a_photo_by_the_contract(photos: Path, capsys: Captured) -> None:
    code = main(["read", "--json", str(photos / "blue.jpg"), str(photos / "brown.jpg")])
    out = capsys.readouterr()
    found = strict_json(out.out)
    check("read", found)
    assert code == 0
    assert [photo["photo"] for photo in found] == ["blue.jpg", "brown.jpg"]
    blue, brown = found
    assert blue["calibration"]["kind"] == "card"
    assert sorted(t["label"] for t in blue["tiles"]) == ["T-0101", "T-0102"]
    first = next(t for t in blue["tiles"] if t["label"] == "T-0101")
    # drawn 50 by 90 mm in CIELAB (38, -2, -22) by tests.synthetic
    assert first["width_mm"] == pytest.approx(50, abs=1.5)
    assert first["height_mm"] == pytest.approx(90, abs=2.5)
    assert first["glaze"]["lab"] == pytest.approx([38, -2, -22], abs=3)
    assert brown["calibration"]["kind"] == "none"
    assert "NO_CARD" in brown["flags"]
    for tile in brown["tiles"]:
        assert tile["width_mm"] is None
        assert set(tile["density_per_cm2"].values()) == {None}
        assert all(mark["diameter_mm"] is None for mark in tile["marks"])


def test_read_names_what_failed_and_does_the_rest(photos: Path, capsys: Captured) -> None:
    code = main(["read", "--json", str(photos), str(photos / "absent.jpg")])
    out = capsys.readouterr()
    found = strict_json(out.out)
    check("read", found)
    assert code == 1
    errors = {photo["photo"]: photo["error"] for photo in found}
    assert errors["blue.jpg"] is None
    assert errors["brown.jpg"] is None
    assert "could not be read" in errors["notes.jpg"]
    assert "is not there" in errors["absent.jpg"]
    assert "notes.jpg" in out.err
    assert "absent.jpg" in out.err
    assert "Traceback" not in out.err


def test_read_with_a_second_photo_says_so_and_refuses_one_that_does_not_match(
    photos: Path, tmp_path: Path, capsys: Captured
) -> None:
    with Image.open(photos / "blue.jpg") as first:
        fall = np.linspace(0.8, 1.1, first.width)[None, :, None]
        lit = np.clip(np.asarray(first) * fall, 0, 255).astype(np.uint8)
    Image.fromarray(lit).save(tmp_path / "right.jpg", quality=92)
    code = main(["read", "--json", str(photos / "blue.jpg"), "--pair", str(tmp_path / "right.jpg")])
    out = capsys.readouterr()
    assert code == 0, out.err
    found = strict_json(out.out)
    check("read", found)
    assert found[0]["beside"]["photo"] == "right.jpg"
    assert "TWO_PHOTOS" in found[0]["flags"]
    assert sorted(t["label"] for t in found[0]["tiles"]) == ["T-0101", "T-0102"]
    assert main(["read", str(photos / "blue.jpg"), "--pair", str(photos / "blue.jpg")]) == 1
    told = capsys.readouterr().err
    assert "blue.jpg and blue.jpg cannot be read together: they are one and the same photo" in told
    assert main(["read", str(photos), "--pair", str(tmp_path / "right.jpg")]) == 1
    assert "A second photo belongs to one photo." in capsys.readouterr().err


def test_unload_files_a_pair_and_keeps_both_photos(
    photos: Path, tmp_path: Path, empty_home: Path, capsys: Captured
) -> None:
    with Image.open(photos / "blue.jpg") as first:
        fall = np.linspace(0.8, 1.1, first.width)[None, :, None]
        lit = np.clip(np.asarray(first) * fall, 0, 255).astype(np.uint8)
    right = tmp_path / "right.jpg"
    Image.fromarray(lit).save(right, quality=92)
    words = ["unload", str(photos / "blue.jpg"), "--pair", str(right), "--load", "Pairs"]
    assert main(words) == 0
    told = capsys.readouterr()
    assert [line.split("\t")[0] for line in told.out.splitlines()] == ["T-0101", "T-0102"], told.err
    digest = hashlib.sha256(right.read_bytes()).hexdigest()
    with Catalog.open(empty_home) as catalog:
        reading = catalog.piece("T-0101").readings[-1]
        assert reading.tile.beside_sha256 == digest
        assert "TWO_PHOTOS" in reading.photo_flags
        assert catalog.photo_bytes(digest) == right.read_bytes()
        assert find_problems(catalog) == ()
    assert (
        main(["unload", str(photos / "blue.jpg"), "--pair", str(tmp_path / "absent.jpg"), "--load", "P"]) == 1
    )


def test_read_in_words_says_flags_as_sentences(photos: Path, capsys: Captured) -> None:
    assert main(["read", str(photos / "brown.jpg")]) == 0
    out = capsys.readouterr().out
    assert "No reference card was found" in out
    assert "NO_CARD" not in out
    assert "None" not in out


def test_read_as_patch_takes_the_whole_frame(photos: Path, capsys: Captured) -> None:
    assert main(["read", "--json", "--as", "patch", str(photos / "brown.jpg")]) == 0
    (photo,) = strict_json(capsys.readouterr().out)
    assert [tile["subject"] for tile in photo["tiles"]] == ["patch"]


def test_masks_are_written_one_png_a_tile_and_fault(photos: Path, tmp_path: Path) -> None:
    from PIL import Image

    out = tmp_path / "masks"
    assert main(["read", "--json", "--masks", str(out), str(photos / "blue.jpg")]) == 0
    names = sorted(path.name for path in out.iterdir())
    assert names == ["blue-1-crawling.png", "blue-1-crazing.png", "blue-2-crawling.png", "blue-2-crazing.png"]
    with Image.open(out / names[0]) as mask:
        assert mask.mode == "L"
        assert set(mask.get_flattened_data() if hasattr(mask, "get_flattened_data") else mask.getdata()) <= {
            0,
            255,
        }


def test_stdout_carries_only_the_result(photos: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "app.cli", "read", "--json", str(photos)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    check("read", strict_json(done.stdout))
    assert "reading 1 of 3" in done.stderr


def test_unload_files_labelled_tiles_once(photos: Path, empty_home: Path, capsys: Captured) -> None:
    words = ["unload", str(photos), "--load", "First", "--body", "Buff", "--glaze", "Slate", "--coats", "2"]
    assert main(words) == 1, "notes.jpg is no photo"
    filed = [line.split("\t") for line in capsys.readouterr().out.splitlines()]
    assert {"T-0101", "T-0102"} <= {code for code, _ in filed}
    with Catalog.open(empty_home) as catalog:
        count = catalog.count_pieces()
        piece = catalog.piece("T-0101")
        assert piece.load is not None
        assert piece.load.name == "First"
        assert piece.body is not None
        assert piece.body.name == "Buff"
        assert [(layer.name, layer.coats) for layer in piece.layers] == [("Slate", 2)]
        assert piece.readings[0].view_sha256 is not None
    assert main(words) == 1
    out = capsys.readouterr()
    assert out.out == ""
    assert "was filed from this photo before" in out.err
    with Catalog.open(empty_home) as catalog:
        assert catalog.count_pieces() == count
        assert len(catalog.loads()) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is POSIX")
def test_an_unloading_that_was_killed_goes_on_without_doubles(
    photos: Path, empty_home: Path, capsys: Captured
) -> None:
    words = ["unload", str(photos / "blue.jpg"), str(photos / "brown.jpg"), "--load", "October"]
    run = subprocess.Popen(
        [sys.executable, "-m", "app.cli", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert run.stderr is not None
    for line in run.stderr:
        if line.startswith("reading 2 of 2"):
            break
    run.kill()
    run.communicate()
    with Catalog.open() as catalog:
        before = catalog.count_pieces()
    assert main(words) == 0
    told = capsys.readouterr()
    assert "reading 1 of 2" not in told.err  # the first photo is not read again
    with Catalog.open() as catalog:
        codes = [piece.code for piece in catalog.pieces(order="code")]
        (unloading,) = catalog.unloadings.list(open_only=False)
    assert len(codes) > before
    assert {"T-0101", "T-0102"} <= set(codes)
    assert len(codes) == len(set(codes))
    assert unloading.closed
    assert main(words) == 0
    with Catalog.open() as catalog:
        assert catalog.count_pieces() == len(codes)


def test_a_fresh_code_is_never_one_that_a_label_bears(
    photos: Path, empty_home: Path, tmp_path: Path, capsys: Captured
) -> None:
    """brown.jpg has no label and is read first; T-0101 is the very next free code."""
    import shutil

    folder = tmp_path / "mixed"
    folder.mkdir()
    shutil.copy(photos / "brown.jpg", folder / "a.jpg")
    shutil.copy(photos / "blue.jpg", folder / "b.jpg")
    with Catalog.open(empty_home) as catalog:
        catalog.reserve_codes(100)
    assert main(["unload", str(folder), "--load", "Mixed"]) == 0
    by_photo: dict[str, set[str]] = {"a.jpg": set(), "b.jpg": set()}
    for line in capsys.readouterr().out.splitlines():
        code, name = line.split("\t")
        by_photo[name].add(code)
    assert by_photo["b.jpg"] == {"T-0101", "T-0102"}
    assert not by_photo["a.jpg"] & by_photo["b.jpg"]


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


def test_read_takes_an_outline_by_hand_for_one_photo(photos: Path, capsys: Captured) -> None:
    corners = "100,100 300,100 300,260 100,260"
    assert main(["read", "--json", "--outline", corners, str(photos / "brown.jpg")]) == 0
    found = strict_json(capsys.readouterr().out)
    check("read", found)
    (tile,) = found[0]["tiles"]
    assert tile["outlined_by_hand"]
    assert sorted(map(tuple, tile["outline_px"])) == [(100, 100), (100, 260), (300, 100), (300, 260)]
    both = [str(photos / "brown.jpg"), str(photos / "blue.jpg")]
    assert main(["read", "--outline", corners, *both]) == 1
    assert "one photo" in capsys.readouterr().err
    assert main(["read", "--outline", "0,0 99999,0 9,9", both[0]]) == 1
    assert "leaves the photo" in capsys.readouterr().err


def test_read_takes_a_marked_stripe_for_one_photo(photos: Path, capsys: Captured) -> None:
    brown = str(photos / "brown.jpg")
    tile = ["--outline", "638,306 916,306 916,722 638,722"]
    stripe = ["--stripe", "650,480 900,480 900,510 650,510"]
    assert main(["read", "--json", *tile, *stripe, brown]) == 0
    found = strict_json(capsys.readouterr().out)[0]["tiles"][0]["face_colours"]
    opacity = found["opacity"]
    assert opacity["by_hand"]
    assert opacity["contrast_ratio"] == pytest.approx(1.0, abs=0.05)  # nothing dark lies under this glaze
    assert set(found) == {"gradient", "edges", "thick_thin", "opacity"}
    assert main(["read", *tile, *stripe, brown]) == 0
    assert "over the stripe you marked" in capsys.readouterr().out
    assert main(["read", *stripe, brown, str(photos / "blue.jpg")]) == 1
    assert "one photo" in capsys.readouterr().err
