"""Commands that ask the catalogue why a fault came about, and what was tried and learned."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.commands.opening import opened

if TYPE_CHECKING:
    from catalog.casebook.records import KeptTrial
    from catalog.causes.diagnosis import Diagnosis

__all__ = ["outcomes", "trials", "why", "write_json"]

_CAUSES_TOLD = 6


def write_json(value: Any) -> None:
    """Write the result as JSON: readable, no NaN."""
    json.dump(value, sys.stdout, indent=1, ensure_ascii=False, allow_nan=False)
    sys.stdout.write("\n")


def why(args: argparse.Namespace) -> int:
    """Rank the causes of a fault, of a filed piece or of facts in a file."""
    diagnosis = _from_facts(args) if args.facts is not None else _of_piece(args)
    if args.json:
        write_json(diagnosis.to_dict())
    else:
        sys.stdout.write(_told(diagnosis) + "\n")
    return 0


def _of_piece(args: argparse.Namespace) -> Diagnosis:
    from app.services.causes import why as explained

    with opened(args) as catalog:
        free = True if args.schedule_may_change else None
        return explained(catalog, args.tile, args.fault, schedule_may_change=free)


def outcomes(args: argparse.Namespace) -> int:
    """Hand on what people said of causes, take another studio's words, list them, or undo one."""
    from app.services.causes import import_from_file

    with opened(args) as catalog:
        book = catalog.casebook
        if args.take is not None:
            added, known = import_from_file(catalog, Path(args.take).read_bytes())
            sys.stderr.write(f"{added} added, {known} known already\n")
        elif args.undo is not None:
            book.undo(args.undo)
            sys.stderr.write(f"Outcome {args.undo} is undone: nothing is learned from it any more.\n")
        elif args.json:
            sys.stdout.write(book.export_outcomes() + "\n")
        else:
            for kept in book.outcomes():
                one = kept.outcome
                place = kept.code or f"from {kept.studio}"
                sys.stdout.write(f"{kept.id}\t{place}\t{one.said_on}\t{one.pair_id}\t{one.verdict}\n")
    return 0


def trials(args: argparse.Namespace) -> int:
    """List the trials with their prediction, their labelled pieces and what came out."""
    with opened(args) as catalog:
        kept = catalog.casebook.trials()
    if args.json:
        write_json([_trial_record(trial) for trial in kept])
        return 0
    for trial in kept:
        codes = ", ".join(f"{part.code} ({part.side})" for part in trial.pieces) or "no tiles"
        came = trial.outcome or "waiting"
        said = f"{trial.prediction * 100:.0f} of 100"
        sys.stdout.write(f"{trial.id}\t{trial.code}\t{trial.pair_id}\t{said}\t{came}\t{codes}\n")
    return 0


def _trial_record(trial: KeptTrial) -> dict[str, Any]:
    return {
        "trial": trial.id,
        "tile": trial.code,
        "about": trial.pair_id,
        "plan": dict(trial.plan),
        "prediction": round(trial.prediction, 4),
        "pieces": [{"tile": p.code, "side": p.side, "shows_if_so": p.shows_if_so} for p in trial.pieces],
        "outcome": trial.outcome,
        "told": trial.told,
    }


def _from_facts(args: argparse.Namespace) -> Diagnosis:
    from app.services.causes import why_from_file

    return why_from_file(args.facts, args.fault)


def _told(diagnosis: Diagnosis) -> str:
    """Give a diagnosis as plain lines: cautions first, then causes, then trials."""
    lines = [f"! {words}" for words in diagnosis.cautions]
    lines += ["", f"Likely causes of: {diagnosis.fault} (of 100 cases like this in a small set)"]
    for cause in diagnosis.causes[:_CAUSES_TOLD]:
        lines.append(f"{cause.probability * 100:3.0f}  {cause.title}")
        lines += [f"       for: {line.text()}" for line in cause.evidence_for]
        lines += [f"       against: {line.text()}" for line in cause.evidence_against]
        if cause.remedy:
            lines.append(f"       what helps: {cause.remedy}")
    lines += list(diagnosis.notes)
    if diagnosis.next_trials:
        lines += ["", "What to try next"]
        lines += [f"  {trial.trial} ({trial.cost})" for trial in diagnosis.next_trials]
    return "\n".join(lines)
