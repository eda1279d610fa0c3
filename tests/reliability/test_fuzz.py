"""Ten thousand mutated inputs to everything that takes bytes from outside: a result or a clear error, always.

    python -m pytest -m reliability tests/reliability

writes the figures to ``tests/reliability/figures``. GLOSTBOOK_FUZZ=500 makes a short run of it.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.reliability.figures import write

pytestmark = pytest.mark.reliability
WORKER = Path(__file__).with_name("fuzz_worker.py")
INPUTS = int(os.environ.get("GLOSTBOOK_FUZZ", "10000"))


@pytest.mark.parametrize("target", ["photo", "log", "package", "label"])
def test_mutated_inputs_give_a_result_or_a_clear_error(target, tmp_path):
    place = tmp_path / "told.json"
    command = [sys.executable, str(WORKER), target, str(INPUTS), str(place)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-3000:]
    told = json.loads(place.read_text())
    write(f"fuzz_{target}", **told)
    assert told["inputs"] >= INPUTS
    assert told["slowest_s"] < 5
    assert told["peak_mb"] < 1500
    assert told["read"] > 0
    assert told["refused"] > 0
