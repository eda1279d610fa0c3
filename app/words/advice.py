"""The form that all advice takes: what is so, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Advice"]


@dataclass(frozen=True, slots=True)
class Advice:
    """What is so, in one sentence, and what to do next."""

    sentence: str
    next_step: str

    def __str__(self) -> str:
        return f"{self.sentence} {self.next_step}"
