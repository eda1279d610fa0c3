"""The commands of the work before the firing: what they print, what they refuse, what they take back."""

import json
from pathlib import Path

import pytest

from app.cli import main
from app.commands import bench_options
from catalog.bench import records
from catalog.store import Catalog

Captured = pytest.CaptureFixture[str]


def run(capsys: Captured, *words: str) -> tuple[int, list[str], str]:
    code = main(list(words))
    told = capsys.readouterr()
    return code, told.out.splitlines(), told.err


def test_the_options_are_the_catalogues_own_words() -> None:
    own = (records.BUCKET_KINDS, records.METHODS, records.STAGES, records.LOSS_REASONS)
    stated = (bench_options._KINDS, bench_options._METHODS, bench_options._STAGES, bench_options._REASONS)
    assert stated == own


def test_a_bucket_is_made_weighed_listed_and_labelled(studio: Path, tmp_path: Path, capsys: Captured) -> None:
    out = tmp_path / "labels.pdf"
    code, lines, _ = run(capsys, "bucket", "--glaze", "Slate blue", "--weighs", "145", "--label", str(out))
    assert (code, lines) == (0, ["B-0001\tSlate blue\tgravity 1.45, 100 ml weigh 145 g"])
    assert out.read_bytes().startswith(b"%PDF")
    assert run(capsys, "bucket", "b-0001", "--gravity", "1.5")[1][0].startswith(
        "B-0001\tSlate blue\tgravity 1.50"
    )
    code, lines, _ = run(capsys, "bucket", "--json")
    (kept,) = json.loads("\n".join(lines))
    assert (kept["code"], kept["gravity"], kept["kind"]) == ("B-0001", 1.5, "glaze")
    with Catalog.open(studio) as catalog:
        assert kept["recipe_id"] in {recipe.id for recipe in catalog.recipes()}


def test_twenty_pieces_and_then_the_same_again_in_one_short_command(studio: Path, capsys: Captured) -> None:
    run(capsys, "bucket", "--glaze", "Slate blue", "--weighs", "145")
    run(capsys, "bucket", "U-1", "--glaze", "Iron colour", "--kind", "underglaze")
    words = ["--method", "dip", "--seconds", "3", "--coats", "1", "--foot-wiped", "--body"]
    code, lines, told = run(
        capsys,
        "glazed",
        "--bucket",
        "B-0001",
        "--under",
        "U-1 brush 2",
        "--new",
        "20",
        *words,
        "White stoneware",
    )
    assert (code, len(lines), lines[0]) == (0, 20, "T-0007")
    assert "Iron colour, brushed, 2 coats; over it Slate blue, dipped, 3 s, 1 coat" in told
    assert "usually takes three coats" in told
    assert "common practice, no source" in told
    code, lines, _ = run(capsys, "glazed", "--new", "20", "--json")
    done = json.loads("\n".join(lines))
    assert (code, len(done["codes"]), done["warnings"]) == (0, 20, [])
    assert [(each["bucket"], each["method"], each["coats"], each["seconds"]) for each in done["layers"]] == [
        ("U-1", "brush", 2, None),
        ("B-0001", "dip", 1, 3.0),
    ]
    with Catalog.open(studio) as catalog:
        piece = catalog.piece(done["codes"][-1])
        assert (piece.body.name, piece.layers[1].name) == ("White stoneware", "Slate blue")
    code, lines, _ = run(capsys, "glazed", "--undo")
    assert (code, lines) == (0, done["codes"])
    with Catalog.open(studio) as catalog:
        assert catalog.count_pieces() == 26


def test_warnings_are_told_when_glazed_and_before_loading(studio: Path, capsys: Captured) -> None:
    """Bracken ran once here; White stoneware is rated cone 6, the glaze fires at cone 5 to 6."""
    with Catalog.open(studio) as catalog:
        catalog.add_judgement("T-0005", "fault", "running", "present")
    run(capsys, "bucket", "--glaze", "Bracken")
    _, _, told = run(capsys, "glazed", "--bucket", "B-0001", "--new", "2", "--no-foot-wiped")
    assert "! T-0007, T-0008: Bracken ran on 1 of the 2 pieces looked at" in told
    assert "The foot was not wiped" in told
    code, lines, _ = run(capsys, "ready", "--json")
    found = json.loads("\n".join(lines))
    assert (code, found["pieces"]) == (0, ["T-0007", "T-0008"])
    assert [each["kind"] for each in found["warnings"]] == ["running", "contact"]
    code, lines, _ = run(capsys, "ready", "--load", "glaze firing 19 october")
    assert (code, lines) == (0, ["T-0004", "T-0005", "T-0006"])
    assert run(capsys, "ready", "--load", "no such load")[0] == 1


def test_stages_cracks_and_losses_are_said_and_taken_back(studio: Path, capsys: Captured) -> None:
    assert run(capsys, "stage", "drying", "--new", "3", "--kind", "ware")[1] == ["W-0001", "W-0002", "W-0003"]
    assert run(capsys, "stage", "bisqued", "W-0001..W-0002", "--on", "2026-11-20")[0] == 0
    assert run(capsys, "crack", "W-0001", "--seen", "drying")[1] == ["W-0001"]
    assert run(capsys, "lost", "W-0003", "--at", "drying", "--why", "warped")[1] == ["W-0003"]
    assert run(capsys, "stage")[1] == ["W-0001\tbisqued", "W-0002\tbisqued", "W-0003\tlost"]
    assert run(capsys, "lost", "--undo")[1] == ["W-0003"]
    assert run(capsys, "stage", "--undo")[1] == ["W-0001", "W-0002"]
    assert {line.split("\t")[1] for line in run(capsys, "stage")[1]} == {"drying"}
    assert run(capsys, "crack", "--undo")[0] == 0
    code, lines, told = run(capsys, "crack", "--undo")
    assert (code, lines, told) == (
        1, [], "There is no crack left to undo. Whatever was kept last is undone already.\n"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["bucket", "B-0404"], "No bucket is kept as B-0404"),
        (["glazed", "--bucket", "B-0404", "--new", "1"], "No bucket is kept as B-0404"),
        (["bucket", "--glaze", "Moss", "--weighs", "1450"], "100 to 240"),
        (["stage", "fired", "T-0404"], "No piece is filed as T-0404"),
        (["lost"], "codes of pieces"),
    ],
)
def test_what_is_wrong_is_said_in_a_sentence(
    studio: Path, capsys: Captured, words: list[str], told: str
) -> None:
    code, lines, error = run(capsys, *words)
    assert (code, lines) == (1, [])
    assert told in error


def test_glazing_for_the_first_time_wants_a_bucket(studio: Path, capsys: Captured) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["glazed", "--new", "1"])
    assert caught.value.code == 2
    assert "--bucket" in capsys.readouterr().err
