"""Render the demo photos of scenario.json: python sample_images/render_samples.py [--only 01 07].

Photos already there are kept unless named by --only.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from factory.photo import make_photo
from factory.scenario import plan_of

HERE = Path(__file__).resolve().parent
SEED_WORD = 61
SEEDS: dict[str, int] = {}
"""Photo number -> another draw of the same photo, where the first did not look right."""
LARGEST_BYTES = 730_000


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs="*", default=[], help="leading numbers of the photos to make again")
    parser.add_argument("--out", type=Path, default=HERE)
    parser.add_argument(
        "--share", type=float, default=1.0, help="size against the full one, for a quick look"
    )
    args = parser.parse_args()
    scenario = json.loads((HERE / "scenario.json").read_text(encoding="utf-8"))
    for index, photo in enumerate(scenario["photos"]):
        name = Path(photo["file"]).stem
        number = name.split("-")[0]
        wanted = number in args.only if args.only else not (args.out / f"{name}.json").is_file()
        if not wanted:
            continue
        began = time.perf_counter()
        seed = (SEED_WORD, index, SEEDS.get(number, 0))
        plan = replace(plan_of(scenario, index, seed), most_bytes=LARGEST_BYTES)
        if args.share != 1.0:
            camera = plan.shot.camera
            size = {
                "width_px": int(camera.width_px * args.share),
                "height_px": int(camera.height_px * args.share),
            }
            plan = replace(plan, shot=replace(plan.shot, camera=replace(camera, **size)))
        about = {"seed": list(seed), "split": "sample", "load": photo["load"]}
        make_photo(plan, args.out, name, about, False)
        print(f"{name} {time.perf_counter() - began:.0f} s", file=sys.stderr, flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
