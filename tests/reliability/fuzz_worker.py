"""Give one target thousands of mutated inputs. A program of its own: a crash must not take the tests along.

Arguments: the target, how many inputs, a file for what happened. An input that takes over 5 s ends the
program with a traceback; an error that is none of ours ends it too.
"""

import faulthandler
import json
import sys
import tempfile
import time
import warnings
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import figures
import seeds
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

LIMIT_S = 5.0
_INTERESTING = [b"", b"\x00", b"\xff" * 4, b"\x7f\xff\xff\xff", b"\x00" * 8, b"\xff\xd8\xff", b"-1"]
_INTERESTING += [b"nan", b"1e999", b'"', b",", b"\r\n", b"\xef\xbb\xbf", b"9" * 30, b"../"]
_INTERESTING += [b"PK\x03\x04", b"PK\x05\x06"]

change = st.tuples(
    st.sampled_from(["flip", "cut", "drop", "put", "over", "twice"]),
    st.floats(0, 1, exclude_max=True),
    st.integers(0, 255),
    st.sampled_from(_INTERESTING) | st.binary(max_size=8),
)


def mutated(data, changes):
    out = bytearray(data)
    for what, share, number, piece in changes:
        at = int(share * len(out))
        match what:
            case "flip" if out:
                out[at] ^= number or 1
            case "cut":
                del out[at:]
            case "drop":
                del out[at : at + number]
            case "put":
                out[at:at] = piece
            case "over":
                out[at : at + len(piece)] = piece
            case "twice":
                out[at:at] = out[at : at + number * 8]
    return bytes(out)


def target_photo(folder):
    from vision.errors import VisionError
    from vision.photo import decode_photo
    from vision.shareable import private_parts, shareable

    kept = seeds.photos()

    def run(index, changes):
        data = mutated(kept[index % len(kept)], changes)
        for step in (decode_photo, shareable):
            try:
                step(data, "photo.jpg")
            except VisionError:
                return "refused"
        private_parts(data, "photo.jpg")
        return "read"

    return run


def target_log(folder):
    from catalog.errors import CatalogError
    from catalog.firing.schedule_csv import read_schedule_csv
    from catalog.glaze.report import formula_report
    from catalog.workshop import read_log_bytes

    kept = seeds.logs()
    place = folder / "input.csv"

    def run(index, changes):
        data = mutated(kept[index % len(kept)], changes)
        place.write_bytes(data)
        told = "refused"
        steps = (
            lambda: read_log_bytes(data, "log.csv"),
            lambda: read_schedule_csv(place),
            lambda: formula_report(place),
        )
        for step in steps:
            try:
                step()
                told = "read"
            except CatalogError:
                continue
        return told

    return run


def target_package(folder):
    from catalog.errors import CatalogError
    from catalog.exchange.take import look_at_package
    from catalog.store import Catalog

    whole, files = seeds.package(folder)
    names = sorted(name for name in files if name.startswith("data/") or name == "datapackage.json")
    catalog = Catalog.open(folder / "home")
    place = folder / "input.zip"

    def run(index, changes):
        if index % 2:
            name = names[index % len(names)]
            try:
                data = seeds.packed({**files, name: mutated(files[name], changes)})
            except (ValueError, KeyError, TypeError, AttributeError):
                data = mutated(whole, changes)
        else:
            data = mutated(whole, changes)
        place.write_bytes(data)
        try:
            look_at_package(catalog, place)
        except CatalogError:
            return "refused"
        return "read"

    return run


def target_label(folder):
    import numpy as np

    from vision.errors import VisionError
    from vision.labels import find_labels
    from vision.settings import LabelSettings

    kept = seeds.labels()

    def run(index, changes):
        picture = kept[index % len(kept)]
        rows = 20 + (index * 7) % 120
        raw = mutated(picture[:rows].tobytes(), changes)
        raw = raw[: len(raw) // 600 * 600] or bytes(600)
        pixels = np.frombuffer(raw, np.uint8).reshape(-1, 200, 3).copy()
        try:
            return "read" if find_labels(pixels, LabelSettings()) else "refused"
        except VisionError:
            return "refused"

    return run


def main():
    name, count, place = sys.argv[1], int(sys.argv[2]), Path(sys.argv[3])
    told = {"read": 0, "refused": 0, "slowest_s": 0.0}
    with tempfile.TemporaryDirectory() as made:
        run = globals()[f"target_{name}"](Path(made))

        @settings(
            max_examples=count,
            deadline=None,
            database=None,
            derandomize=True,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(index=st.integers(0, 10**6), changes=st.lists(change, min_size=1, max_size=6))
        def fuzz(index, changes):
            faulthandler.dump_traceback_later(LIMIT_S, exit=True)
            start = time.perf_counter()
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                told[run(index, changes)] += 1
            told["slowest_s"] = max(told["slowest_s"], round(time.perf_counter() - start, 3))
            faulthandler.cancel_dump_traceback_later()

        start = time.perf_counter()
        fuzz()
        told["inputs"] = told["read"] + told["refused"]
        told["took_s"] = round(time.perf_counter() - start, 1)
        told["peak_mb"] = round(figures.peak_mb(), 1)
        place.write_text(json.dumps(told))


if __name__ == "__main__":
    main()
