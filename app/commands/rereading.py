"""``glostbook reread``: read filed photos again after a method change; stopped and run again, it goes on."""

from __future__ import annotations

import argparse
import contextlib
import sys
from collections.abc import Iterator, Sequence

from app.commands.failures import Failures
from app.commands.opening import opened
from app.services.rereading import reread as read_photos
from app.services.rereading import time_left_words
from app.words import Advice, error_advice
from catalog.errors import CatalogError
from catalog.rereading import OutdatedPhoto, outdated_photos
from catalog.store import Catalog

__all__ = ["reread"]

_CONNECT_S = 20.0


def reread(args: argparse.Namespace) -> int:
    """Read again what an older method read; the pieces that gained a reading are the result."""
    failures = Failures()
    with opened(args) as catalog:
        load_id = None
        if args.load is not None:
            wanted = " ".join(args.load.split()).casefold()
            load_id = next((load.id for load in catalog.loads() if load.name.casefold() == wanted), None)
            if load_id is None:
                words = f"There is no load named {args.load}."
                failures.add("--load", Advice(words, "Look under Firings for the names there are."))
                return failures.exit_code
        photos = outdated_photos(catalog, load_id=load_id, codes=args.pieces)
        if not photos:
            sys.stderr.write("nothing to read again: these readings are of the present method\n")
            return failures.exit_code
        sys.stderr.write(f"{len(photos)} photos to read again\n")
        try:
            with _cluster(args.cluster, failures) as there:
                if args.cluster is not None and not there:
                    return failures.exit_code
                _run(catalog, photos, args, failures)
        except CatalogError as error:
            failures.add("reread", error_advice(error))
    return failures.exit_code


def _run(
    catalog: Catalog, photos: Sequence[OutdatedPhoto], args: argparse.Namespace, failures: Failures
) -> None:
    for step in read_photos(catalog, photos, jobs=args.jobs, cluster=args.cluster is not None):
        left = time_left_words(step.left_s) if step.number < step.total else "done"
        sys.stderr.write(f"{step.number} of {step.total}: {step.photo.name}, {left}\n")
        if step.trouble is not None:
            failures.add(step.photo.name, step.trouble)
        for code in step.codes:
            sys.stdout.write(f"{code}\t{step.photo.name}\n")
        sys.stdout.flush()


@contextlib.contextmanager
def _cluster(address: str | None, failures: Failures) -> Iterator[bool]:
    """Open the client of a Dask cluster where one is named; gives whether it answers."""
    if address is None:
        yield False
        return
    try:
        from distributed import Client

        client = Client(address, timeout=_CONNECT_S, set_as_default=True)
    except ImportError:
        words = "Reading on a cluster wants the library distributed."
        failures.add("--cluster", Advice(words, "Install it: pip install 'glostbook[cluster]'."))
        yield False
        return
    except (OSError, ValueError):
        words = f"No Dask scheduler answers at {address.rpartition('@')[2]}."
        failures.add(
            "--cluster", Advice(words, "Give its address, such as tcp://host:8786. Nothing was done.")
        )
        yield False
        return
    with client:
        yield True
