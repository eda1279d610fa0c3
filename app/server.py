"""Starting the app: bound to this computer unless told otherwise, usage statistics off, no settings file."""

from __future__ import annotations

import ipaddress
import os
import socket
import sys
from pathlib import Path

from app.theme import streamlit_options

__all__ = ["HOST", "free_port", "has_screen", "is_loopback", "server_command", "server_environment"]

HOST = "127.0.0.1"
_FIRST_PORT = 8501
_PORTS_TRIED = 40
_UPLOAD_LIMIT_MB = 120
"""Largest single photo taken by the upload field, megabytes: camera raw files reach about 100."""


def free_port(wanted: int | None = None, host: str = HOST) -> int:
    """Give a port of an address of this computer that nobody listens on, on the loopback by default.

    Parameters
    ----------
    wanted : the port asked for; None takes the first free one from 8501
    host : the address to listen at

    Raises
    ------
    OSError : the wanted port, or all that were tried, are taken.
    """
    tried = [wanted] if wanted is not None else range(_FIRST_PORT, _FIRST_PORT + _PORTS_TRIED)
    for port in tried:
        with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, port))
            except OSError:
                continue
            return port
    taken = f"port {wanted} is" if wanted is not None else f"all ports from {_FIRST_PORT} are"
    raise OSError(f"{taken} in use on this computer")


def is_loopback(host: str) -> bool:
    """Tell whether an address is one that only this computer reaches."""
    name = host.strip("[]").lower()
    if name == "localhost":
        return True
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return False


def has_screen() -> bool:
    """Tell whether a browser could open here: not on a Linux machine without a display."""
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def server_command(port: int, host: str = HOST, certificate: tuple[str, str] | None = None) -> list[str]:
    """Give the command that serves the app on `port`, on the loopback by default.

    `certificate` names the files of a certificate and its key; with them the app speaks https.
    """
    secure = zip(("Cert", "Key"), certificate or (), strict=False)
    return [
        sys.executable,
        "-m",
        "streamlit",
        "run",
        str(Path(__file__).with_name("web.py")),
        f"--server.address={host}",
        f"--server.port={port}",
        "--server.headless=true",
        "--server.fileWatcherType=none",
        "--server.showEmailPrompt=false",
        f"--server.maxUploadSize={_UPLOAD_LIMIT_MB}",
        "--browser.gatherUsageStats=false",
        "--client.toolbarMode=minimal",
        "--client.showErrorDetails=none",
        "--client.showErrorLinks=false",
        "--runner.magicEnabled=false",
        "--logger.level=warning",
        *(f"--server.ssl{name}File={file}" for name, file in secure),
        *streamlit_options(),
    ]


def server_environment() -> dict[str, str]:
    """Give the environment of the server: the present one, with the packages' folder on its path."""
    root = str(Path(__file__).resolve().parent.parent)
    path = os.environ.get("PYTHONPATH")
    return {**os.environ, "PYTHONPATH": root if not path else os.pathsep.join((root, path))}
