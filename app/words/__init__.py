"""One place that turns what went wrong, or what a reader must know, into a sentence and a next step."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from app.words.advice import Advice
from app.words.flags import flag_advice
from app.words.photos import PHOTO_ERRORS, missing_library_advice

__all__ = ["Advice", "error_advice", "flag_advice", "missing_library_advice"]

_SYSTEM_ERRORS: dict[type[BaseException], Callable[[Any], Advice]] = {
    FileNotFoundError: lambda error: Advice(
        f"{error.filename or error} is not there.", "Check the name and the folder."
    ),
    IsADirectoryError: lambda error: Advice(
        f"{error.filename or error} is a folder; a file is wanted.", "Name one file."
    ),
    PermissionError: lambda error: Advice(
        f"{error.filename or error} may not be opened.", "Check who owns it and its permissions."
    ),
}


@lru_cache(maxsize=1)
def _all_errors() -> dict[type[BaseException], Callable[[Any], Advice]]:
    from app.words.people import PEOPLE_ERRORS
    from app.words.reasoning import REASONING_ERRORS
    from app.words.records import RECORD_ERRORS

    return {**_SYSTEM_ERRORS, **PHOTO_ERRORS, **RECORD_ERRORS, **REASONING_ERRORS, **PEOPLE_ERRORS}


def error_advice(error: BaseException) -> Advice:
    """Say what went wrong and what to do next, for any error this project raises.

    Parameters
    ----------
    error : an error of `vision` or `catalog`, or one of the operating system

    Raises
    ------
    TypeError : the error is none of ours; it must surface as what it is.
    """
    words = _all_errors()
    for kind in type(error).__mro__:
        make = words.get(kind)
        if make is not None:
            return make(error)
    raise TypeError(f"no words for {type(error).__name__}") from error
