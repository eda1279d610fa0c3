"""Starting the app: bound to this computer, usage statistics off, our own theme, no settings file needed."""

from __future__ import annotations

import os
import socket
import sys
from pathlib import Path

from app.theme import streamlit_options

__all__ = ["HOST", "free_port", "has_screen", "server_command", "server_environment"]

HOST = "127.0.0.1"
_FIRST_PORT = 8501
_PORTS_TRIED = 40
_UPLOAD_LIMIT_MB = 120
"""Largest single photo taken by the upload field, megabytes: camera raw files reach about 100."""


def free_port(wanted: int | None = None) -> int:
    """Give a port on the loopback that nobody listens on.

    Parameters
    ----------
    wanted : the port asked for; None takes the first free one from 8501

    Raises
    ------
    OSError : the wanted port, or all that were tried, are taken.
    """
    tried = [wanted] if wanted is not None else range(_FIRST_PORT, _FIRST_PORT + _PORTS_TRIED)
    for port in tried:
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
            except OSError:
                continue
            return port
    taken = f"port {wanted} is" if wanted is not None else f"all ports from {_FIRST_PORT} are"
    raise OSError(f"{taken} in use on this computer")


def has_screen() -> bool:
    """Tell whether a browser could open here: not on a Linux machine without a display."""
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def server_command(port: int) -> list[str]:
    """Give the command that serves the app on `port` of the loopback."""
    return [
        sys.executable,
        "-m",
        "streamlit",
        "run",
        str(Path(__file__).with_name("web.py")),
        f"--server.address={HOST}",
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
        *streamlit_options(),
    ]


def server_environment() -> dict[str, str]:
    """Give the environment of the server: the present one, with the packages' folder on its path."""
    root = str(Path(__file__).resolve().parent.parent)
    path = os.environ.get("PYTHONPATH")
    return {**os.environ, "PYTHONPATH": root if not path else os.pathsep.join((root, path))}
