"""Packages stay light and point one way (the direction itself is import-linter's, in `.ci/run`)."""

from __future__ import annotations

import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    ("module", "forbidden"),
    [
        ("vision", ("cv2", "skimage", "sklearn", "streamlit", "sqlalchemy")),
        ("vision.reading", ("cv2", "skimage", "sklearn", "streamlit", "sqlalchemy", "pandas")),
        ("catalog", ("cv2", "streamlit", "sqlalchemy", "pandas")),
        ("catalog.store", ("cv2", "streamlit")),
        ("catalog.causes.infer", ("cv2", "streamlit", "pandas")),
        ("app.cli", ("cv2", "streamlit", "sqlalchemy", "pandas", "sklearn")),
        ("vision.pipeline", ("streamlit", "sqlalchemy", "pandas")),
    ],
)
def test_import_brings_in_nothing_heavy_or_foreign(module: str, forbidden: tuple[str, ...]) -> None:
    code = f"import sys, {module}; print(' '.join(m for m in {forbidden!r} if m in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
