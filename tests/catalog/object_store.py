"""An S3-compatible server of the tests' own, on this machine only: moto's (the `test` extra brings it)."""

import contextlib
import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator

import pytest

KEY, SECRET = "studio-key", "studio-secret-7f3a"
BUCKET = "studio"


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


def environment(port: int) -> dict[str, str]:
    """What a studio sets to use its own S3-compatible server."""
    return {
        "AWS_ENDPOINT_URL": f"http://127.0.0.1:{port}",
        "AWS_ACCESS_KEY_ID": KEY,
        "AWS_SECRET_ACCESS_KEY": SECRET,
        "AWS_DEFAULT_REGION": "us-east-1",
        "AWS_EC2_METADATA_DISABLED": "true",
    }


@contextlib.contextmanager
def running() -> Iterator[int]:
    """Start the server with an empty bucket; give its port."""
    pytest.importorskip("s3fs", reason="s3fs is not installed: pip install 'glostbook[s3]'")
    pytest.importorskip("moto.server", reason="moto is not installed: pip install 'glostbook[test]'")
    port = free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "MOTO_ALLOW_NONEXISTENT_REGION": "true"},
    )
    try:
        until = time.monotonic() + 120
        while True:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5):
                    break
            except OSError:
                assert server.poll() is None, "the server did not start"
                assert time.monotonic() < until
                time.sleep(0.1)
        make = urllib.request.Request(f"http://127.0.0.1:{port}/{BUCKET}", method="PUT")
        with urllib.request.urlopen(make, timeout=10):  # noqa: S310
            pass
        yield port
    finally:
        server.kill()
        server.wait()
