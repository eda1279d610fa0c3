"""Commands on recipes and schedules in files."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from app.commands.asking import write_json

__all__ = ["formula", "heatwork"]


def formula(args: argparse.Namespace) -> int:
    """Work out a recipe's unity formula."""
    from app.services.glazes import expansion_rows, formula_rows, plain_sentences
    from catalog.glaze.report import formula_report

    report = formula_report(Path(args.recipe))
    if args.json:
        write_json(report.to_dict())
        return 0
    for words in plain_sentences(report):
        sys.stdout.write(f"{words}\n")
    rows = [*formula_rows(report), *expansion_rows(report)]
    sys.stdout.write("".join(f"{name}\t{value}\n" for name, value in rows))
    for words in (*report.cautions, *report.notes):
        sys.stdout.write(f"! {words}\n")
    return 0


def heatwork(args: argparse.Namespace) -> int:
    """Say which cone a schedule or a log amounts to."""
    from catalog.firing.report import heatwork_report

    report = heatwork_report(Path(args.schedule))
    if args.json:
        write_json(report.to_dict())
    else:
        sys.stdout.write(f"{report.sentence()}\n")
        sys.stdout.write("".join(f"! {words}\n" for words in report.notes))
    return 0
