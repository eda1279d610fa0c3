"""Fit the trees that judge marks by two photos: python -m vision.marks.pair_fit --renders FOLDER...

Folders hold left_N and right_N photos with their truth, as sample_images/shade_pairs.py and render_pairs.py
write them. Needs the single photo's model. Pairs whose number is divisible by 5 are held out and calibrate,
and so do all of the folders given as --tune. Examples are kept beside the truth while the method is the same.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import cv2
import numpy as np

from vision.balance import fit_correction
from vision.card import find_card
from vision.marks import find as find_module
from vision.marks import pair as pair_module
from vision.marks import pair_features as features_module
from vision.marks.candidates import smallest_diameter_px
from vision.marks.classify import CLASSES, load_model
from vision.marks.examples import IGNORED, Examples, KnownMark, label_candidates
from vision.marks.field import MODEL_FILE
from vision.marks.find import LINES_FILE, find_marks
from vision.marks.pair import PAIR_MODEL_FILE, find_pair_marks, load_pair_model, look_at_pair
from vision.marks.pair_features import PAIR_FEATURE_NAMES
from vision.marks.renders import known_views
from vision.marks.score import Score, score_marks
from vision.photo import load_photo
from vision.settings import Settings
from vision.two_lamps_align import guess_places
from vision.two_lamps_light import LampPair, lamp_side
from vision.two_lamps_second import SecondPhoto

__all__ = ["known_pairs", "left_files", "score_pairs"]


def left_files(folders: Sequence[Path]) -> list[Path]:
    """List the first photos' truth files whose second photo is there too."""
    return [
        path
        for folder in folders
        for path in sorted(folder.glob("left_*.json"))
        if path.with_name(path.name.replace("left_", "right_")).is_file()
    ]


def known_pairs(left_file: Path, settings: Settings) -> Iterator[tuple[LampPair, tuple[KnownMark, ...]]]:
    """Give each piece of a rendered pair with the marks truly on it.

    Parameters
    ----------
    left_file : the truth of the first photo; the second one's lies beside it
    settings : of the reading

    Notes
    -----
    Outlines and glaze are the truth's, all else (laying over, light, blur) is what a reading does. A piece
    that is not found again in the second photo is left out.
    """
    first = load_photo(left_file.with_suffix(".jpg"), settings)
    second = load_photo(left_file.with_name(left_file.stem.replace("left_", "right_") + ".jpg"), settings)
    cards = [find_card(p.pixels, settings) for p in (first, second)]
    guesses = guess_places(first.pixels, second.pixels, cards[0], cards[1], settings.two_lamps)
    if not guesses.places:
        return
    lamp = lamp_side(first.pixels, second.pixels, guesses.places[0], settings.two_lamps)
    plain = fit_correction(None, None, settings)
    other = SecondPhoto(first, second, guesses, plain, lamp)
    for known, view in known_views(left_file, settings):
        pair = other.beside(view, known.surface, plain, settings)
        if pair is not None:
            yield pair, known.marks


def _method() -> str:
    parts = [Path(str(m.__file__)).read_bytes() for m in (find_module, pair_module, features_module)]
    return hashlib.sha256(b"".join(parts) + MODEL_FILE.read_bytes() + LINES_FILE.read_bytes()).hexdigest()[
        :12
    ]


def _examples_of(left_file: Path, method: str) -> Examples | None:
    cv2.setNumThreads(1)
    kept = left_file.parent / ".examples" / f"{left_file.stem}.{method}.npz"
    if kept.is_file():
        with np.load(kept, allow_pickle=False) as file:
            return Examples(file["features"], file["label"], file["log_ratio"], file["group"])
    settings = Settings()
    group = int(hashlib.sha256(str(left_file.name).encode()).hexdigest()[:7], 16)
    parts = []
    for pair, marks in known_pairs(left_file, settings):
        found, features = look_at_pair(pair, settings.marks)
        smallest = smallest_diameter_px(max(pair.first.blur_px, pair.second.blur_px), settings.marks)
        label, ratio = label_candidates(found.x_px, found.y_px, found.radius_px, marks, smallest)
        parts.append(Examples(features, label, ratio, np.full(len(label), group, np.int32)))
    if not parts:
        return None
    made = Examples.join(parts)
    kept.parent.mkdir(exist_ok=True)
    np.savez(kept, features=made.features, label=made.label, log_ratio=made.log_ratio, group=made.group)
    return made


def load_pairs(files: Sequence[Path], processes: int) -> Examples:
    """Make or load the examples of pairs given by their first photos' truth files."""
    with ProcessPoolExecutor(processes) as pool:
        parts = list(pool.map(partial(_examples_of, method=_method()), files))
    return Examples.join([part for part in parts if part is not None])


def score_pairs(files: Sequence[Path], *, from_px: float) -> dict[str, Score]:
    """Score the marks of each photo alone and of both together, on truth's outlines."""
    settings = Settings()
    scores = {name: Score() for name in ("first alone", "second alone", "both")}
    for file in files:
        for pair, marks in known_pairs(file, settings):
            found = {
                "first alone": find_marks(pair.first, settings.marks),
                "second alone": find_marks(pair.second, settings.marks),
                "both": find_pair_marks(pair, settings.marks),
            }
            for name, some in found.items():
                score_marks(marks, some, scores[name], from_px=from_px)
    return scores


def main() -> int:
    """Run the command; gives the exit code."""
    from vision.marks.fit import FitSettings, fit_model, model_arrays

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--tune", type=Path, nargs="*", default=[])
    parser.add_argument("--hold", type=int, default=5, help="pairs whose number this divides are held out")
    parser.add_argument("--out", type=Path, default=PAIR_MODEL_FILE)
    parser.add_argument("--processes", type=int, default=1)
    args = parser.parse_args()
    files = left_files(args.renders)
    held = [f for f in files if int(f.stem.rsplit("_", 1)[1]) % args.hold == 0]
    train = load_pairs([f for f in files if f not in set(held)], args.processes)
    tune = load_pairs([*held, *left_files(args.tune)], args.processes)
    for name, some in (("fitted", train), ("held out", tune)):
        label = some.label[some.label != IGNORED]
        counts = ", ".join(f"{int((label == k).sum())} {kind}" for k, kind in enumerate(CLASSES))
        sys.stderr.write(f"{name}: {len(np.unique(some.group))} pairs, {counts}\n")
    model = fit_model(load_model().screen, train, tune, FitSettings(seen_trees=120, kind_trees=90))
    arrays = {k: v for k, v in model_arrays(model).items() if not k.startswith("screen")}
    arrays["feature_names"] = np.array(PAIR_FEATURE_NAMES)
    with args.out.open("wb") as out:
        np.savez_compressed(out, allow_pickle=False, **arrays)
    if args.out.resolve() != PAIR_MODEL_FILE.resolve():
        sys.stderr.write("not scored: readings use the trees in place\n")
        return 0
    load_pair_model.cache_clear()
    for name, score in score_pairs([*held, *left_files(args.tune)], from_px=6.0).items():
        sys.stderr.write("\n".join([f"held out, {name}:", *score.lines(), ""]))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
