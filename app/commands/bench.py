"""Commands of the work before the firing: buckets, what was glazed, stages, cracks, losses, warnings."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

from app.commands.asking import write_json
from app.commands.opening import opened
from app.services.bench import kept_bucket_label, last_body, warning_lines
from app.services.studio import body_named
from app.words.bench import STAGE_WORDS, glazing_words, gravity_words, layer_practice, pieces_words
from catalog.bench.buckets import gravity_of_100_ml
from catalog.bench.codes import codes_in_short, codes_of_text
from catalog.bench.records import Glazing, GlazingDraft, LayerDraft
from catalog.store import Catalog

__all__ = ["bucket", "crack", "glazed", "lost", "ready", "stage"]


def bucket(args: argparse.Namespace) -> int:
    """Make a bucket, weigh one, or list them all; buckets are the result."""
    gravity = gravity_of_100_ml(args.weighs) if args.weighs is not None else args.gravity
    with opened(args) as catalog:
        bench = catalog.bench
        if args.glaze is not None:
            found = [
                bench.add_bucket(
                    args.glaze, kind=args.kind, code=args.code, mixed_on=args.mixed, gravity=gravity
                )
            ]
        elif args.code is not None and gravity is not None:
            found = [bench.weigh_bucket(args.code, gravity)]
        elif args.code is not None:
            found = [bench.bucket(args.code)]
        else:
            found = list(bench.buckets())
    if args.label is not None:
        from app.sheets.labels import GRIDS, labels_pdf

        Path(args.label).write_bytes(
            labels_pdf([kept_bucket_label(each) for each in found], GRIDS["A4, 3 × 8"])
        )
        sys.stderr.write(f"{args.label}: print at 100 %\n")
    if args.json:
        write_json([_plain(asdict(each)) for each in found])
    else:
        for each in found:
            sys.stdout.write(f"{each.code}\t{each.name}\t{gravity_words(each.gravity)}\n")
    return 0


def _plain(value: Any) -> Any:
    """Give a record as JSON has it: days as text."""
    if isinstance(value, dict):
        return {name: _plain(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value.isoformat() if isinstance(value, date) else value


def glazed(args: argparse.Namespace) -> int:
    """Keep that pieces were glazed, or take the last time back; the codes are the result."""
    with opened(args) as catalog:
        if args.undo:
            _codes(catalog.bench.undo_glazing(), "taken back")
            return 0
        draft = _draft(catalog, args)
        done = catalog.bench.glaze(draft)
        pieces = [catalog.piece(code) for code in done.codes]
        lines = warning_lines(catalog.bench.warnings(pieces))
    if args.json:
        write_json(_plain(asdict(done)) | {"warnings": [str(line) for line in lines]})
    else:
        _told(done)
    for line in lines:
        sys.stderr.write(f"! {line}\n")
    return 0


def _draft(catalog: Catalog, args: argparse.Namespace) -> GlazingDraft:
    """Give what the options say; what they leave out is as it was the last time from this bucket."""
    bench = catalog.bench
    last = bench.last_glazing(args.bucket)
    if args.bucket is None and last is not None:
        args.bucket = last.layers[-1].bucket
    if args.bucket is None:
        sys.stderr.write("Name the bucket with --bucket: nothing was glazed before.\n")
        raise SystemExit(2)
    top = last.layers[-1] if last is not None else None
    under = [_layer(text) for text in args.under]
    if not args.under and last is not None:
        under = [
            LayerDraft(each.bucket, each.method, each.coats, each.seconds)
            for each in last.layers[:-1]
            if each.bucket is not None
        ]
    own = args.method is not None or args.coats is not None or args.seconds is not None
    outer = LayerDraft(args.bucket, args.method, args.coats, args.seconds)
    if not own and top is not None:
        outer = LayerDraft(args.bucket, top.method, top.coats, top.seconds)

    def said(name: str) -> Any:
        given = getattr(args, name)
        return given if given is not None or last is None else getattr(last, name)

    return GlazingDraft(
        layers=(*under, outer),
        codes=codes_of_text(" ".join(args.pieces)),
        new=args.new,
        kind=args.kind,
        body_id=last_body(catalog, last) if args.body is None else body_named(catalog, args.body).id,
        bisque_wiped=said("bisque_wiped"),
        foot_wiped=said("foot_wiped"),
        overlap=said("overlap"),
        touches=said("touches"),
        catch=said("catch"),
        foot_gap_mm=said("foot_gap_mm"),
        photo=None if args.photo is None else Path(args.photo).read_bytes(),
        photo_name="raw-coat.jpg" if args.photo is None else Path(args.photo).name,
        on=args.on,
        note=args.note,
    )


def _layer(text: str) -> LayerDraft:
    """Read a layer such as "U-1 brush 3" or "B-0002 dip 2s"."""
    bucket_code, *rest = text.split()
    method: str | None = None
    coats: int | None = None
    seconds: float | None = None
    for word in rest:
        if word[-1:] == "s" and word[:-1].replace(".", "", 1).isdigit():
            seconds = float(word[:-1])
        elif word.isdigit():
            coats = int(word)
        else:
            method = word
    return LayerDraft(bucket_code, method, coats, seconds)


def _told(done: Glazing) -> None:
    sys.stderr.write(f"{pieces_words(len(done.codes))} glazed: {glazing_words(done)}\n")
    for layer in done.layers:
        practice = layer_practice(layer.kind, layer.method, layer.coats)
        if practice is not None:
            sys.stderr.write(f"{layer.name}: {practice} (common practice, no source)\n")
    _codes(done.codes)


def _codes(codes: Iterable[str], done: str | None = None) -> None:
    told = tuple(codes)
    if done is not None:
        sys.stderr.write(f"{done}: {pieces_words(len(told))}\n")
    sys.stdout.write("".join(f"{code}\n" for code in told))


def stage(args: argparse.Namespace) -> int:
    """Say that pieces reached a stage, make new ones at it, take that back, or list who is where."""
    with opened(args) as catalog:
        bench = catalog.bench
        if args.undo:
            _codes(bench.undo("stage"), "taken back")
        elif args.new:
            body = None if args.body is None else body_named(catalog, args.body).id
            _codes(
                bench.make_pieces(
                    args.new, kind=args.kind, body_id=body, stage=args.stage or "made", on=args.on
                ),
                "made",
            )
        elif args.stage is not None:
            codes = codes_of_text(" ".join(args.pieces))
            bench.set_stage(codes, args.stage, args.on)
            _codes(codes, STAGE_WORDS[args.stage])
        else:
            for each in bench.progress().values():
                where = "lost" if each.loss is not None else STAGE_WORDS.get(each.stage or "", "not said")
                sys.stdout.write(f"{each.code}\t{where}\n")
    return 0


def crack(args: argparse.Namespace) -> int:
    """Say when a crack first showed, or take that back; the codes are the result."""
    with opened(args) as catalog:
        if args.undo:
            _codes(catalog.bench.undo("crack"), "taken back")
        else:
            codes = codes_of_text(" ".join(args.pieces))
            catalog.bench.crack_seen(codes, args.seen, args.on)
            _codes(codes)
    return 0


def lost(args: argparse.Namespace) -> int:
    """Say that pieces were lost, at which stage and why, or take that back; the codes are the result."""
    with opened(args) as catalog:
        if args.undo:
            _codes(catalog.bench.undo("loss"), "taken back")
        else:
            codes = codes_of_text(" ".join(args.pieces))
            catalog.bench.lose(codes, args.at, args.why, on=args.on, note=args.note)
            _codes(codes)
    return 0


def ready(args: argparse.Namespace) -> int:
    """List the pieces to load, or those of a load, with what to look at first; warnings go to stderr."""
    with opened(args) as catalog:
        if args.load is None:
            pieces = catalog.bench.to_load()
        else:
            wanted = " ".join(args.load.split()).casefold()
            loads = [load.id for load in catalog.loads() if load.name.casefold() == wanted]
            if not loads:
                sys.stderr.write(f"No load is kept as {args.load}. Look under Firings for their names.\n")
                return 1
            pieces = catalog.pieces(load_id=loads[0], order="code")
        lines = warning_lines(catalog.bench.warnings(pieces))
    if args.json:
        write_json(
            {
                "pieces": [piece.code for piece in pieces],
                "warnings": [
                    {"kind": x.kind, "pieces": list(x.codes), "what": x.sentence, "do": x.next_step}
                    for x in lines
                ],
            }
        )
    else:
        _codes(piece.code for piece in pieces)
        for line in lines:
            sys.stderr.write(f"! {line}\n")
    sys.stderr.write(f"{pieces_words(len(pieces))}, {codes_in_short([p.code for p in pieces]) or 'none'}\n")
    return 0
