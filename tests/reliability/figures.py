"""Write what a reliability run measured to ``figures/NAME.json``, with the machine it ran on."""

import json
import os
import platform
import resource
from datetime import UTC, datetime
from pathlib import Path

FIGURES = Path(__file__).with_name("figures")
COMMAND = "python -m pytest -m reliability tests/reliability"


def write(name, **figures):
    FIGURES.mkdir(exist_ok=True)
    told = {
        "measured_on": datetime.now(UTC).date().isoformat(),
        "command": COMMAND,
        "processors": os.cpu_count(),
        "python": platform.python_version(),
        **figures,
    }
    (FIGURES / f"{name}.json").write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def peak_mb(who=resource.RUSAGE_SELF):
    """Peak resident memory so far, megabytes (Linux counts in kilobytes)."""
    return resource.getrusage(who).ru_maxrss / 1000
