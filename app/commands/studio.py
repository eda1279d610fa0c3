"""Commands about the studio as a whole: the sample studio, the printed card, the app itself."""

from __future__ import annotations

import argparse
import json
import signal
import ssl
import subprocess
import sys
import time
import urllib.request
import webbrowser
from pathlib import Path

from app.commands.opening import opened

__all__ = ["card", "demo", "open_app", "teach"]

_START_LIMIT_S = 60.0


def card(args: argparse.Namespace) -> int:
    """Write the reference card; its path is the result."""
    from app.sheets.card import card_pdf

    out = Path(args.out)
    out.write_bytes(card_pdf(args.size))
    sys.stderr.write("Print it at 100 % and check that its 100 mm rule measures 100 mm.\n")
    sys.stdout.write(f"{out}\n")
    return 0


def teach(args: argparse.Namespace) -> int:
    """Teach the card from one photo; what was learnt is the result."""
    from app.services.teaching import teach as teach_card

    path = Path(args.photo)
    data = path.read_bytes()
    with opened(args) as catalog:
        card = teach_card(catalog, data, path.name)
    if args.json:
        json.dump(card.to_dict(), sys.stdout, indent=1)
        sys.stdout.write("\n")
    else:
        sys.stdout.write(
            f"{card.layout} card taught on {card.on}, {card.residual_delta_e_00:.1f} off on the chart\n"
        )
    return 0


def demo(args: argparse.Namespace) -> int:
    """Fill a fresh catalogue with the sample studio; the number of pieces filed is the result.

    A photo of which nothing could be filed is a failure; a single tile missed in one is told, no more.
    """
    from app.services.demo import demo_folder, fill_sample_studio
    from catalog.home import find_home
    from catalog.restore import set_aside

    folder = demo_folder(args.source)
    if folder is None:
        sys.stderr.write("The sample photos are not on this computer. Name their folder with --from.\n")
        return 1
    if args.fresh:
        moved = set_aside(find_home().folder)
        if moved is not None:
            sys.stderr.write(f"the catalogue that was there is kept as {moved}\n")

    asked: set[str] = set()

    def progress(done: int, total: int, name: str) -> None:
        asked.add(name)
        sys.stderr.write(f"reading {done + 1} of {total}: {name}\n")

    with opened(args) as catalog:
        report = fill_sample_studio(catalog, folder, progress)
    for name, reason in report.problems:
        sys.stderr.write(f"{name}: {reason}\n")
    sys.stdout.write(f"{report.pieces} pieces from {report.photos} photos\n")
    return 0 if asked and report.photos == len(asked) else 1


def open_app(args: argparse.Namespace) -> int:
    """Serve the app until Ctrl-C; the address is the result."""
    from app.server import HOST, free_port, has_screen, is_loopback, server_command, server_environment

    host = args.host or HOST
    alone = is_loopback(host)
    if bool(args.certificate) != bool(args.private_key):
        sys.stderr.write("--certificate and --private-key belong together: name both files.\n")
        return 2
    if not alone and not _has_keeper():
        from app.words.people import NO_KEEPER

        sys.stderr.write(f"{NO_KEEPER}\n")
        return 1
    try:
        port = free_port(args.port, host)
    except OSError as error:
        sys.stderr.write(f"The app could not start: {error}. Choose another with --port.\n")
        return 1
    certificate = (args.certificate, args.private_key) if args.certificate else None
    shown = f"[{host}]" if ":" in host else host
    address = f"{'https' if certificate else 'http'}://{shown}:{port}"
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    server = subprocess.Popen(  # noqa: S603 - our own command, no outside words in it
        server_command(port, host, certificate), env=server_environment(), stdout=subprocess.DEVNULL
    )
    try:
        if not _wait_until_up(server, address):
            sys.stderr.write("The app did not come up. What it printed stands above.\n")
            return 1
        sys.stdout.write(f"{address}\n")
        sys.stdout.flush()
        sys.stderr.write(_open_words(alone, certificate is not None))
        if alone and not args.no_browser and has_screen():
            webbrowser.open(address)
        return 0 if server.wait() == 0 else 1
    except KeyboardInterrupt:
        return 0
    finally:
        _stop(server)


def _has_keeper() -> bool:
    from catalog.people.records import KEEPER
    from catalog.store import Catalog

    with Catalog.open() as catalog:
        return any(person.role == KEEPER for person in catalog.people.list())


def _open_words(alone: bool, encrypted: bool) -> str:
    if alone:
        return "Glostbook is open at this address, on this computer only. Ctrl-C stops it.\n"
    words = "Glostbook is open at this address to everybody who reaches it and signs in. Ctrl-C stops it.\n"
    if encrypted:
        return words
    return words + (
        "It is not encrypted: use it on a network you trust, or give --certificate and --private-key.\n"
    )


def _wait_until_up(server: subprocess.Popen[bytes], address: str) -> bool:
    deadline = time.monotonic() + _START_LIMIT_S
    unproven = ssl.create_default_context()
    unproven.check_hostname, unproven.verify_mode = False, ssl.CERT_NONE  # our own server, asked if it is up
    while time.monotonic() < deadline and server.poll() is None:
        try:
            health = f"{address}/_stcore/health"
            with urllib.request.urlopen(health, timeout=2, context=unproven):  # noqa: S310 - our own server
                return True
        except OSError:
            time.sleep(0.2)
    return False


def _stop(server: subprocess.Popen[bytes]) -> None:
    if server.poll() is None:
        server.terminate()
        try:
            server.wait(timeout=5)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()
