"""``glostbook read`` and ``unload`` as others see them: JSON by contract, exit codes, what is filed."""

import hashlib
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from app.cli import main
from catalog.checkup import find_problems
from catalog.store import Catalog
from tests.app.test_cli import Captured, check, strict_json


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
