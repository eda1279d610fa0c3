"""Every flag and every error has its sentence and its next step, and no sentence promises anything."""

import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import app
import catalog
import vision
from app.words import error_advice, flag_advice, missing_library_advice
from app.words.measures import crazing_words, difference_words
from catalog.errors import CatalogError
from vision.errors import VisionError
from vision.reading import Crazing, Flag
from vision.settings import Settings

FORBIDDEN = re.compile(
    r"food[- ]safe|dishwasher[- ]safe|microwave[- ]safe|non-?toxic|lead[- ]free|is safe|are safe|guarantee",
    re.IGNORECASE,
)
"""Claims that are never made (the trade's usual cautions; only a laboratory's release test can show it)."""

INTERNAL = re.compile(r"\b(None|nan|NO_[A-Z_]+|Traceback|[a-z]+Error)\b|\{|\}")


def all_errors(base: type[BaseException], package) -> list[type[BaseException]]:
    for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
        if module.name.endswith("errors"):
            importlib.import_module(module.name)
    found = [base]
    for kind in found:
        found += [sub for sub in kind.__subclasses__() if sub not in found]
    return [kind for kind in found if kind.__module__.split(".")[0] == package.__name__]


ERRORS = all_errors(VisionError, vision) + all_errors(CatalogError, catalog)

SAMPLES = {
    "str": "T-0042",
    "str | None": "blister",
    "int": 3,
    "int | None": 3,
    "float": 200.0,
    "float | None": 200.0,
    "object": "six",
    "Path": Path("kept"),
    "Path | None": Path("kept"),
    "tuple[str, ...]": ("T-0041",),
}


def an_instance(kind: type[BaseException]) -> BaseException:
    """An error as its own module raises it: each argument by its annotation."""
    if "__init__" not in kind.__dict__ and all("__init__" not in b.__dict__ for b in kind.__mro__[1:-3]):
        return kind("something happened")
    given = {}
    for name, parameter in inspect.signature(kind).parameters.items():
        if parameter.kind in (parameter.VAR_POSITIONAL, parameter.VAR_KEYWORD):
            return kind("something happened")
        if parameter.default is not parameter.empty:
            continue
        given[name] = SAMPLES[str(parameter.annotation)]
    return kind(**given)


@pytest.mark.parametrize("flag", list(Flag))
def test_every_flag_has_a_sentence_and_a_next_step(flag: Flag) -> None:
    advice = flag_advice(flag)
    assert advice.sentence.endswith(".")
    assert advice.next_step.endswith(".")
    assert not INTERNAL.search(str(advice))
    assert not FORBIDDEN.search(str(advice))


@pytest.mark.parametrize("kind", ERRORS, ids=lambda kind: kind.__name__)
def test_every_error_has_words_of_its_own(kind: type[BaseException]) -> None:
    from app.words import _all_errors

    assert kind in _all_errors(), f"{kind.__name__} has no sentence of its own"
    advice = error_advice(an_instance(kind))
    assert advice.sentence.strip()
    assert re.search(r"[.?]$|apt-get install [a-z0-9. -]+$", advice.next_step)
    assert not FORBIDDEN.search(str(advice))
    assert "None" not in str(advice)


def test_an_unknown_error_is_not_dressed_up() -> None:
    with pytest.raises(TypeError, match="ZeroDivisionError"):
        error_advice(ZeroDivisionError())


@pytest.mark.parametrize(
    ("message", "package"),
    [
        ("libGL.so.1: cannot open shared object file: No such file or directory", "libgl1"),
        ("libgthread-2.0.so.0: cannot open shared object file: No such file", "libglib2.0-0"),
    ],
)
def test_a_missing_library_names_the_debian_package(message: str, package: str) -> None:
    # package names: Debian 12 and later
    assert package in missing_library_advice(message).next_step


def test_difference_words_grow_with_the_difference() -> None:
    # 1.0 and 2.0: steps of the survey named in app.words.measures, from memory
    assert difference_words(0.4) == "not visible"
    assert difference_words(1.5) == "just visible side by side"
    assert difference_words(3.0) == "clear"
    assert difference_words(40.0) == "another colour"


def test_no_word_on_screen_or_sheet_promises_anything() -> None:
    root = Path(app.__file__).parent
    for path in root.rglob("*.py"):
        hit = FORBIDDEN.search(path.read_text(encoding="utf-8"))
        assert hit is None, f"{path.name}: {hit and hit.group()}"


def test_a_net_that_is_called_is_not_called_unlikely() -> None:
    least = Settings().crazing.least_probability
    assert crazing_words(Crazing(True, least, 1.0, None)) == "crazed (perhaps)"
