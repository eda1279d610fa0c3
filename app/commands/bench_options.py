"""The options of the commands of the work before the firing. Imports nothing heavy."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import date

__all__ = ["add_bench_commands"]

_KINDS = ("glaze", "underglaze", "slip")
_METHODS = ("dip", "pour", "brush", "spray")
_STAGES = ("made", "drying", "bone_dry", "bisqued", "glazed", "fired", "out")
_REASONS = ("cracked", "broken", "warped", "burst", "glaze", "stuck", "other")
"""As in `catalog.bench.records`; stated here so that help needs no database (a test compares them)."""

_ROW = "codes; T-0101..T-0120 is a whole row"


def add_bench_commands(command: Callable[[str, str, str], argparse.ArgumentParser]) -> None:
    """Add the commands to the parser."""
    bucket = command("bucket", "bench:bucket", "Make a bucket with a code, weigh one, or list them.")
    bucket.add_argument("code", nargs="?", metavar="BUCKET", help="its code; the next free one if left out")
    bucket.add_argument("--glaze", metavar="NAME", help="make it: what is in it")
    bucket.add_argument("--kind", choices=_KINDS, default="glaze", help="what that is (glaze)")
    heavy = bucket.add_mutually_exclusive_group()
    heavy.add_argument("--gravity", type=float, metavar="G", help="by the hydrometer, such as 1.45")
    heavy.add_argument("--weighs", type=float, metavar="GRAMS", help="what 100 ml of it weigh")
    bucket.add_argument("--mixed", type=_day, metavar="DAY", help="when it was mixed, such as 2026-11-25")
    bucket.add_argument("--label", metavar="OUT.pdf", help="also write labels with QR code")
    bucket.add_argument("--json", action="store_true", help="print JSON")

    glazed = command(
        "glazed", "bench:glazed", "Say that pieces were glazed; what is left out is as the last time."
    )
    glazed.add_argument("pieces", nargs="*", metavar="PIECE", help=_ROW)
    glazed.add_argument("--new", type=_many, default=0, metavar="N", help="make N new pieces with codes")
    glazed.add_argument("--kind", choices=("tile", "ware"), default="tile", help="of new pieces (tile)")
    glazed.add_argument("--body", metavar="NAME", help="clay of new pieces; made if there is none")
    glazed.add_argument("--bucket", metavar="BUCKET", help="code on the bucket, or the glaze")
    glazed.add_argument("--method", choices=_METHODS, help="how it was put on")
    glazed.add_argument("--coats", type=_many, metavar="N", help="coats")
    glazed.add_argument("--seconds", type=float, metavar="S", help="seconds in the bucket")
    glazed.add_argument(
        "--under",
        action="append",
        default=[],
        metavar="LAYER",
        help="a layer under it, from the clay outward: 'U-1 brush 3'",
    )
    for name, words in (
        ("foot-wiped", "the foot is bare"),
        ("bisque-wiped", "sponged before"),
        ("overlap", "layers overlap in part"),
        ("touches", "glaze where pieces touch or stack"),
        ("catch", "will stand on a catch plate"),
    ):
        glazed.add_argument(
            f"--{name}", dest=name.replace("-", "_"), action=argparse.BooleanOptionalAction, help=words
        )
    glazed.add_argument(
        "--foot-gap", dest="foot_gap_mm", type=float, metavar="MM", help="bare above the foot"
    )
    glazed.add_argument("--photo", metavar="PHOTO", help="one picture of the raw coat")
    glazed.add_argument("--note", default="", metavar="WORDS", help="in your own words")
    glazed.add_argument("--json", action="store_true", help="print JSON")
    _when(glazed, "the last glazing")

    stage = command("stage", "bench:stage", "Say which stage pieces reached, or list who is where.")
    stage.add_argument("stage", nargs="?", choices=_STAGES, help="the stage")
    stage.add_argument("pieces", nargs="*", metavar="PIECE", help=_ROW)
    stage.add_argument("--new", type=_many, default=0, metavar="N", help="make N new pieces with codes")
    stage.add_argument("--kind", choices=("tile", "ware"), default="tile", help="of new pieces (tile)")
    stage.add_argument("--body", metavar="NAME", help="clay of new pieces; made if there is none")
    _when(stage, "the last stage said")

    crack = command("crack", "bench:crack", "Say at which stage a crack first showed.")
    crack.add_argument("pieces", nargs="*", metavar="PIECE", help=_ROW)
    crack.add_argument("--seen", choices=_STAGES, default="out", help="the stage (out)")
    _when(crack, "the last crack said")

    lost = command("lost", "bench:lost", "Say that pieces were lost; they stay in the catalogue.")
    lost.add_argument("pieces", nargs="*", metavar="PIECE", help=_ROW)
    lost.add_argument("--at", choices=_STAGES, default="out", help="the stage (out)")
    lost.add_argument("--why", choices=_REASONS, default="other", help="the reason (other)")
    lost.add_argument("--note", default="", metavar="WORDS", help="in your own words")
    _when(lost, "the last loss said")

    ready = command("ready", "bench:ready", "List the pieces to load, with what to look at first.")
    ready.add_argument("--load", metavar="NAME", help="those of this load instead")
    ready.add_argument("--json", action="store_true", help="print JSON")


def _when(parser: argparse.ArgumentParser, what: str) -> None:
    parser.add_argument("--on", type=_day, metavar="DAY", help="the day, such as 2026-11-25 (today)")
    parser.add_argument("--undo", action="store_true", help=f"take back {what}")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text}: a day such as 2026-11-25 is wanted") from None


def _many(text: str) -> int:
    value = int(text) if text.isdigit() else 0
    if value < 1:
        raise argparse.ArgumentTypeError(f"{text}: a whole number from 1 up is wanted")
    return value
