"""How a studio likes figures shown: locale of dates and numbers, °C or °F, mm or inch. All is kept in SI."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["LENGTHS", "TEMPERATURES", "Choices"]

TEMPERATURES = ("C", "F")
LENGTHS = ("mm", "in")


@dataclass(frozen=True, slots=True)
class Choices:
    """How figures are shown.

    Attributes
    ----------
    locale : language and place of dates and numbers, such as "en_GB"; empty takes the reader's own
    temperature : "C" or "F"
    length : "mm" or "in"
    """

    locale: str = ""
    temperature: str = "C"
    length: str = "mm"
