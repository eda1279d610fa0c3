"""The command line: ``glostbook``. Standard output carries only the result, standard error the rest.

Exit codes: 0 done, 1 some inputs failed (each named, the rest done), 2 wrong use.
Heavy imports stay inside the commands, so that ``glostbook --help`` answers at once.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from typing import TypeVar

from app.commands.bench_options import add_bench_commands

__all__ = ["build_parser", "main"]

DONE, FAILED, USAGE = 0, 1, 2

_N = TypeVar("_N", int, float)

_SUBJECTS = ("tile", "ware", "patch")
_ROLES = ("keeper", "member", "reader")


def build_parser() -> argparse.ArgumentParser:
    """Give the parser of all commands; each names the function that runs it as ``module:function``."""
    parser = argparse.ArgumentParser(
        prog="glostbook",
        description="Reads photos of glaze tiles, files them, finds them by colour and explains faults.",
        epilog="The catalogue lives in the folder named by GLOSTBOOK_HOME. Nothing is sent anywhere.",
    )
    parser.add_argument(
        "--by", metavar="NAME", help="who is written on what this changes (or GLOSTBOOK_BY); else your login"
    )
    commands = parser.add_subparsers(dest="command", required=True)

    def command(name: str, runs: str, words: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=words, description=words)
        made.set_defaults(runs=runs)
        return made

    read = command("read", "photos:read", "Say what photos show: colour, finish, marks, crazing, crawling.")
    _photos(read)
    read.add_argument("--json", action="store_true", help="print one JSON array, an object a photo")
    read.add_argument("--masks", metavar="OUT", help="also write crazing and crawling masks as PNG here")

    unload = command("unload", "unloading:unload", "Read photos and file every tile in them under a load.")
    _photos(unload)
    unload.add_argument("--load", metavar="NAME", required=True, help="the load; made if there is none")
    unload.add_argument("--body", metavar="NAME", help="clay body of all these pieces; made if there is none")
    unload.add_argument("--glaze", metavar="NAME", help="glaze of all these pieces; made if there is none")
    unload.add_argument("--coats", type=_count, metavar="N", help="coats of that glaze")
    second = unload.add_mutually_exclusive_group()
    second.add_argument(
        "--join",
        action="store_true",
        help="a photo that looks like the second of a filed one, lamp on the other side: read both as one",
    )
    second.add_argument("--apart", action="store_true", help="file such a photo by itself")

    add_bench_commands(command)

    again = command(
        "reread", "rereading:reread", "Read filed photos again after a method change; old readings stay."
    )
    which = again.add_mutually_exclusive_group(required=True)
    which.add_argument("--all", action="store_true", help="every photo whose reading is of an older method")
    which.add_argument("--load", metavar="NAME", help="only photos of this load")
    which.add_argument(
        "--piece", dest="pieces", nargs="+", metavar="CODE", help="only photos of these pieces"
    )
    again.add_argument("--jobs", type=_count, metavar="N", help="processes that read (one for each core)")
    again.add_argument("--cluster", metavar="URL", help="read on this Dask cluster, such as tcp://host:8786")

    match = command("match", "matching:match", "Find the filed tiles nearest to a colour by CIEDE2000.")
    named = match.add_mutually_exclusive_group(required=True)
    named.add_argument("--lab", nargs=3, type=float, metavar=("L", "A", "B"), help="CIELAB, D65, 2 degree")
    named.add_argument("--lch", nargs=3, type=float, metavar=("L", "C", "H"), help="the same by hue, degrees")
    named.add_argument("--hex", metavar="RRGGBB", help="a colour of the screen")
    named.add_argument(
        "--palette", metavar="COLOURS", help="two or more with their shares: '#345a7c 60, #d8cfc0 40'"
    )
    named.add_argument("--like", metavar="TILE", help="the whole palette of a filed tile")
    match.add_argument("--body", metavar="NAME", help="only on this clay body")
    match.add_argument("--cone", metavar="CONE", help="only from loads aimed at this cone")
    match.add_argument("--finish", choices=("gloss", "satin", "matt"), help="only of this finish")
    match.add_argument("--faultless", action="store_true", help="only pieces on which no fault stands")
    match.add_argument("--corrected", action="store_true", help="only colours corrected by card or chart")
    match.add_argument("--limit", type=_count, default=5, metavar="N", help="how many (5)")
    match.add_argument("--json", action="store_true", help="print JSON")

    why = command("why", "asking:why", "Rank the likely causes of a fault, with evidence and a next trial.")
    asked = why.add_mutually_exclusive_group(required=True)
    asked.add_argument("tile", nargs="?", metavar="TILE", help="code of a filed piece")
    asked.add_argument("--facts", metavar="FACTS.json", help="the fault and the facts as JSON")
    why.add_argument("--fault", metavar="FAULT", help="which fault; else the strongest one of the piece")
    why.add_argument(
        "--schedule-may-change", action="store_true", help="also give trials that need another schedule"
    )
    why.add_argument("--json", action="store_true", help="print JSON")

    outcomes = command(
        "outcomes", "asking:outcomes", "List, hand on, take or undo what people said of causes."
    )
    what = outcomes.add_mutually_exclusive_group()
    what.add_argument("--take", metavar="OUTCOMES.json", help="add another studio's outcomes")
    what.add_argument("--undo", type=_count, metavar="N", help="undo one of them, by its number")
    what.add_argument("--json", action="store_true", help="print them as JSON, for another studio")

    trials = command("trials", "asking:trials", "List trials with prediction, labels and outcome.")
    trials.add_argument("--json", action="store_true", help="print JSON")

    formula = command("formula", "kiln:formula", "Work out a recipe's unity formula, expansion and cautions.")
    formula.add_argument("recipe", metavar="RECIPE.csv", help="columns material, amount")
    formula.add_argument("--json", action="store_true", help="print JSON")

    heatwork = command("heatwork", "kiln:heatwork", "Say which cone a schedule or a kiln log amounts to.")
    heatwork.add_argument(
        "schedule",
        metavar="SCHEDULE.csv",
        help="columns rate_c_per_h, target_c, hold_min; or time_min, temperature_c",
    )
    heatwork.add_argument("--json", action="store_true", help="print JSON")

    demo = command(
        "demo", "studio:demo", "Fill a fresh catalogue with the sample studio, reading each photo."
    )
    demo.add_argument("--from", dest="source", metavar="DIR", help="folder with scenario.json and its photos")
    demo.add_argument(
        "--fresh", action="store_true", help="set the present catalogue aside (kept beside it) and start anew"
    )

    check = command(
        "check", "keeping:check", "Look the catalogue over: records, photos, and whether they agree."
    )
    check.add_argument("--mend", action="store_true", help="mend what can be mended; files are put aside")
    check.add_argument("--from", dest="source", metavar="BACKUP", help="put lost files back from this backup")
    check.add_argument("--quick", action="store_true", help="do not read each photo through")
    check.add_argument("--json", action="store_true", help="print JSON")

    backup = command("backup", "keeping:backup", "Copy the catalogue to another folder while it is in use.")
    backup.add_argument("folder", metavar="FOLDER", help="the backup's own folder, best on another drive")
    backup.add_argument("--keep", type=_count, default=10, metavar="N", help="copies that stay (10)")
    backup.add_argument("--quick", action="store_true", help="do not read earlier copied photos through")
    backup.add_argument("--json", action="store_true", help="print JSON")

    restore = command("restore", "keeping:restore", "Put the catalogue back from a backup.")
    restore.add_argument("folder", metavar="FOLDER", help="the backup's folder")
    restore.add_argument("--list", action="store_true", dest="only_list", help="only say which copies it has")
    restore.add_argument("--copy", metavar="NAME", help="which copy; the newest if none is named")
    restore.add_argument(
        "--set-aside", action="store_true", help="move the present catalogue out of the way, kept whole"
    )

    export = command(
        "export", "handing:export", "Write the catalogue as an open package of tables and photos."
    )
    export.add_argument("out", metavar="OUT.zip")
    export.add_argument(
        "--originals", action="store_true", help="photos with all the phone wrote in, and who holds pieces"
    )

    take = command("import", "handing:take", "Say what a package would bring; with --yes bring it in.")
    take.add_argument("package", metavar="PACKAGE.zip")
    take.add_argument("--yes", action="store_true", help="bring it in; nothing here is overwritten")
    take.add_argument("--json", action="store_true", help="print JSON")

    card = command("card", "studio:card", "Write the reference card as a PDF to print at full size.")
    card.add_argument("--size", choices=("A6", "A5"), default="A6", help="size of the cut card (A6)")
    card.add_argument("out", metavar="OUT.pdf")

    teach = command(
        "teach", "studio:teach", "Teach your printed card its true colours from a photo of it beside a chart."
    )
    teach.add_argument("photo", metavar="PHOTO", help="card and 24-patch chart side by side, both whole")
    teach.add_argument("--json", action="store_true", help="print JSON")

    changes = command(
        "changes", "changes:changes", "List what was changed, by whom and when, or take it back."
    )
    changes.add_argument("--about", metavar="NAME", help="only of this piece, load, glaze, clay or material")
    changes.add_argument("--who", metavar="NAME", help="only by this person")
    changes.add_argument("--limit", type=_count, default=20, metavar="N", help="how many (20)")
    changes.add_argument("--undo", type=_count, metavar="N", help="take this change back, by its number")
    changes.add_argument("--json", action="store_true", help="print JSON")

    _people(
        command("people", "people:listed", "List who works with this catalogue, add people, let them go.")
    )

    open_app = command("open", "studio:open_app", "Open the app in the browser, on this computer only.")
    open_app.add_argument("--port", type=_port, metavar="N", help="port (the first free one from 8501)")
    open_app.add_argument(
        "--host", metavar="ADDRESS", help="listen there too, for others who sign in; 0.0.0.0 is everywhere"
    )
    open_app.add_argument("--certificate", metavar="FILE.pem", help="with --private-key: speak https")
    open_app.add_argument("--private-key", metavar="FILE.pem", help="the certificate's key")
    open_app.add_argument("--no-browser", action="store_true", help="only print the address")
    return parser


def _people(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--left", action="store_true", help="list those who left as well")
    parser.add_argument("--json", action="store_true", help="print JSON")
    steps = parser.add_subparsers(dest="step")

    def step(name: str, words: str) -> argparse.ArgumentParser:
        made = steps.add_parser(name, help=words, description=words)
        made.set_defaults(runs=f"people:{name}")
        made.add_argument("name", metavar="NAME")
        return made

    add = step("add", "Add somebody. Their passphrase is asked for, or read from standard input.")
    add.add_argument("--role", choices=_ROLES, required=True, help="the first person is the keeper")
    add.add_argument(
        "--email", help="who signs in by a sign-in service, named by this address; no passphrase"
    )
    step("role", "Change somebody's role.").add_argument("role", choices=_ROLES)
    step("passphrase", "Give somebody a new passphrase.")
    step("leave", "Let somebody go: no more sign-in, their name stays on what they did.")


def _photos(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--pair",
        metavar="PHOTO",
        help="a second photo of the same tiles, unmoved: lamp left in the first, right in this one",
    )
    parser.add_argument("photos", nargs="+", metavar="PHOTO|DIR", help="photos, or folders of photos")
    parser.add_argument(
        "--as", dest="subject", choices=_SUBJECTS, help="what the photos show, if the guess is wrong"
    )
    parser.add_argument(
        "--outline",
        dest="outlines",
        action="append",
        default=[],
        type=_outline,
        metavar="CORNERS",
        help="read this outline, not what is found: x,y of each corner in pixels, as '80,40 900,60 890,700'",
    )
    parser.add_argument(
        "--stripe",
        dest="stripes",
        action="append",
        default=[],
        type=_outline,
        metavar="CORNERS",
        help="a dark stripe under the glaze, to tell how well it hides: corners as for --outline",
    )
    parser.add_argument(
        "--thickness-mm",
        type=_thickness,
        metavar="T",
        help="how thick the tiles are, so that sizes are right at their face (6 if not said)",
    )


def _outline(text: str) -> tuple[tuple[float, float], ...]:
    try:
        corners = [tuple(float(v) for v in corner.split(",")) for corner in text.split()]
        return tuple((x, y) for x, y in corners)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text}: corners such as '80,40 900,60 890,700' are wanted"
        ) from None


def _number(kind: Callable[[str], _N], text: str, wanted: str) -> _N:
    try:
        return kind(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text}: {wanted} is wanted") from None


def _thickness(text: str) -> float:
    value = _number(float, text, "a thickness from 0 to 60 mm")
    if not 0 <= value <= 60:
        raise argparse.ArgumentTypeError(f"{text}: a thickness from 0 to 60 mm is wanted")
    return value


def _count(text: str) -> int:
    value = _number(int, text, "a whole number from 1 up")
    if value < 1:
        raise argparse.ArgumentTypeError(f"{text}: a whole number from 1 up is wanted")
    return value


def _port(text: str) -> int:
    value = _number(int, text, "a port from 1 to 65535")
    if not 1 <= value <= 65535:
        raise argparse.ArgumentTypeError(f"{text}: a port from 1 to 65535 is wanted")
    return value


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : the words after ``glostbook``; those of the process by default

    Returns
    -------
    int : 0 done, 1 some inputs failed, 2 wrong use
    """
    args = build_parser().parse_args(argv)
    module, name = args.runs.split(":")
    try:
        run: Callable[[argparse.Namespace], int] = getattr(import_module(f"app.commands.{module}"), name)
        return run(args)
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped. What was filed before is kept.\n")
        return FAILED
    except BrokenPipeError:
        sys.stderr.close()
        return FAILED
    except Exception as error:
        return _failed(error)


def _failed(error: Exception) -> int:
    """Say an error we know in one sentence; any other is a fault of the program and surfaces whole."""
    from app.words import error_advice, missing_library_advice

    if isinstance(error, ImportError) and "cannot open shared object file" in str(error):
        sys.stderr.write(f"{missing_library_advice(str(error))}\n")
        return FAILED
    try:
        advice = error_advice(error)
    except TypeError:
        raise error from None
    sys.stderr.write(f"{advice}\n")
    return FAILED


if __name__ == "__main__":
    sys.exit(main())
