"""Inputs that failed: each named on standard error, counted for the exit code."""

from __future__ import annotations

import sys

from app.words import Advice

__all__ = ["Failures"]


class Failures:
    """Counts inputs that failed, each named on standard error as it happens."""

    def __init__(self) -> None:
        self.count = 0

    def add(self, name: str, advice: Advice) -> None:
        """Count one and name it."""
        self.count += 1
        sys.stderr.write(f"{name}: {advice}\n")

    @property
    def exit_code(self) -> int:
        """1 where any failed, else 0."""
        return 1 if self.count else 0
