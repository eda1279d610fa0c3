"""Each error about faults, glazes and firings as a sentence and a next step."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.words.advice import Advice
from catalog.body.errors import BodyError, MeasurementError
from catalog.causes.errors import (
    CausesError,
    FactsFileError,
    FactValueError,
    KnowledgeError,
    NoFaultError,
    OutcomeNotFoundError,
    UnknownFactError,
    UnknownFaultError,
)
from catalog.firing.errors import FiringError, MeasureError, ScheduleError, UnknownConeError
from catalog.glaze.errors import (
    AnalysisSheetError,
    BatchError,
    BlendError,
    EmptyRecipeError,
    GlazeError,
    MixedSetsError,
    RecipeAmountError,
    RecipeFileError,
    SubstitutionError,
    UnknownMaterialError,
)

__all__ = ["REASONING_ERRORS"]


def _nearest(word: str | None, otherwise: str) -> str:
    return otherwise if word is None else f"Did you mean {word}?"


def _parted(told: object, otherwise: str) -> Advice:
    """Give what was found as the sentence and what is wanted, where an error says it, as the next step."""
    found, _, wanted = str(told).partition("; wanted: ")
    return Advice(f"{found}.", f"Give {wanted}." if wanted else otherwise)


def _cone(error: Any) -> Advice:
    return Advice(
        f"{error.given!r} is not a cone.",
        "Write it as text, such as 06 or 6 or 5.5: 06 and 6 are over 200 °C apart.",
    )


REASONING_ERRORS: dict[type[BaseException], Callable[[Any], Advice]] = {
    CausesError: lambda error: Advice(f"The causes cannot be ranked: {error}.", "Correct this; ask again."),
    KnowledgeError: lambda error: Advice(
        f"The table of causes that came with this program is broken: {error}.", "Install the program again."
    ),
    UnknownFactError: lambda error: Advice(
        f"{error.key} is not a fact that is known here.",
        _nearest(error.nearest_key, "Leave it out, or look the names up in DEVELOPERS.md."),
    ),
    FactValueError: lambda error: Advice(
        f"{error.key} cannot be {error.value!r}.", f"Give {error.wanted}, or leave it out if it is not known."
    ),
    UnknownFaultError: lambda error: Advice(
        f"No causes are known for {error.fault!r}.",
        _nearest(error.nearest_fault, "Name a fault such as blister, pinhole, crazing or crawling."),
    ),
    NoFaultError: lambda error: Advice(
        f"No fault is seen or recorded on {error.code}.", "Name the fault to ask about."
    ),
    OutcomeNotFoundError: lambda error: Advice(
        f"No outcome {error.number} is kept.", "glostbook outcomes lists them with their numbers."
    ),
    FactsFileError: lambda error: Advice(
        f"{error.name} cannot be used: {error.reason.partition('; wanted: ')[0]}.",
        'Give JSON such as {"fault": "blister", "facts": {"firing.cone_over_target": 2}}.',
    ),
    FiringError: lambda error: Advice(f"The firing cannot be worked out: {error}.", "Correct it; ask again."),
    UnknownConeError: _cone,
    MeasureError: lambda error: _parted(error, "Look at the cone again and enter what you see."),
    BodyError: lambda error: Advice(
        f"The clay's figures cannot be worked out: {error}.", "Correct them and ask again."
    ),
    MeasurementError: lambda error: Advice(
        f"{error}.", "Measure again, wet, dry and fired with the same rule, and enter what you read."
    ),
    ScheduleError: lambda error: _parted(
        error, "Correct it; columns are rate_c_per_h, target_c, hold_min, or time_min, temperature_c."
    ),
    GlazeError: lambda error: Advice(
        f"The formula cannot be worked out: {error}.", "Correct the recipe and ask again."
    ),
    UnknownMaterialError: lambda error: Advice(
        f"{error}.", "Use a generic name such as whiting or potash feldspar."
    ),
    RecipeAmountError: lambda error: Advice(f"{error}.", "Give amounts as parts by weight, zero or more."),
    BatchError: lambda error: Advice(f"No batch can be so: {error}.", "Weigh or measure it again."),
    BlendError: lambda error: Advice(
        f"These cannot be blended: {error}.", "Choose recipes and shares that can, and try again."
    ),
    SubstitutionError: lambda error: Advice(
        f"This cannot be replaced: {error}.", "Allow other materials, or keep the one that is there."
    ),
    MixedSetsError: lambda error: Advice(f"{error}.", "Compare glazes within one set only."),
    AnalysisSheetError: lambda error: Advice(
        f"The analysis of {error.name} cannot be right: {error.reason}.",
        "Check it against the supplier's sheet.",
    ),
    EmptyRecipeError: lambda error: Advice(
        f"There is nothing to work out: {error}.", "Give at least one material with its amount."
    ),
    RecipeFileError: lambda error: _parted(error, "Give a CSV file with columns material, amount."),
}
