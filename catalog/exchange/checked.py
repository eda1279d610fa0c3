"""Hold each row of a package to the rules that the catalogue holds people to, before a screen meets it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import PurePath
from typing import Any

from catalog import values
from catalog.body.measures import checked_figures
from catalog.casebook.answers import checked_answer
from catalog.causes.knowledge import fault_of
from catalog.causes.learning import Outcome, learn
from catalog.choices import LENGTHS, TEMPERATURES
from catalog.errors import InvalidRecordError
from catalog.firing.cones import parse_cone
from catalog.records import ATMOSPHERES, BODY_KINDS, ConeResult, Layer, Segment
from catalog.ware.leach import REGIONS
from vision.reading import Flag
from vision.reading_json import tile_from_dict

__all__ = ["check_row"]

Columns = dict[str, Any]


def check_row(table: str, columns: Columns) -> None:
    """Check a row's values; what can be worked out from others is set to what follows.

    Raises
    ------
    CatalogError : the first rule that a value breaks.
    KeyError, ValueError, TypeError, AttributeError, IndexError : a JSON value of another form.
    """
    if "facts" in columns and table != "outcome":
        columns["facts"] = dict(values.checked_facts(columns["facts"]))
    check = _CHECKS.get(table)
    if check is not None:
        check(columns)


def _named(columns: Columns) -> None:
    columns["name"] = values.checked_name("name", columns["name"])
    columns["name_key"] = columns["name"].casefold()


def _body(columns: Columns) -> None:
    _named(columns)
    values.checked_choice("kind", columns["kind"], BODY_KINDS)
    values.checked_cone("rated_cone", columns["rated_cone"])


def _recipe(columns: Columns) -> None:
    _named(columns)
    values.checked_cone("cone_low", columns["cone_low"])
    values.checked_cone("cone_high", columns["cone_high"])
    if not all(isinstance(effect, str) for effect in columns["intended"]):
        raise InvalidRecordError("intended", columns["intended"], "a list of words")


def _material(columns: Columns) -> None:
    _named(columns)
    for oxide, share in columns["oxides"].items():
        if isinstance(share, bool) or not isinstance(share, int | float) or not 0 <= share <= 100:
            raise InvalidRecordError(oxide, share, "per cent from 0 to 100")


def _load(columns: Columns) -> None:
    columns["name"] = values.checked_name("name", columns["name"])
    values.checked_cone("cone_aimed", columns["cone_aimed"])
    if columns["atmosphere"] is not None:
        values.checked_choice("atmosphere", columns["atmosphere"], ATMOSPHERES)


def _cone(columns: Columns) -> None:
    values.checked_cones([ConeResult(columns["shelf"], columns["cone"], columns["note"])])


def _segment(columns: Columns) -> None:
    values.checked_segments([Segment(columns["rate_c_per_h"], columns["target_c"], columns["hold_min"])])


def _witness(columns: Columns) -> None:
    parse_cone(columns["cone"])


def _piece(columns: Columns) -> None:
    columns["code"] = values.checked_code(columns["code"])
    columns["code_key"] = values.code_key(columns["code"])


def _layer(columns: Columns) -> None:
    thickness = columns["raw_thickness_mm"]
    values.checked_layers(
        [Layer(columns["recipe_id"], columns["name"], columns["coats"], columns["method"], thickness)]
    )


def _photo(columns: Columns) -> None:
    columns["name"] = PurePath(columns["name"].replace("\\", "/")).name


def _reading(columns: Columns) -> None:
    tile = tile_from_dict(columns["tile"])
    for flag in columns["photo_flags"]:
        Flag(flag)
    columns["finish"] = None if tile.gloss.finish is None else str(tile.gloss.finish)
    columns["colour_method"] = int(columns["method"].get("colour", 0))


def _answer(columns: Columns) -> None:
    given: Mapping[str, Any] = columns["value"]
    if set(given) - {"value"}:
        raise InvalidRecordError("value", dict(given), '{"value": ...}, or {} for "nobody knows"')
    if given:
        checked_answer(columns["fact"], given["value"])


def _measure(columns: Columns) -> None:
    checked_figures(columns["kind"], columns["figures"])


def _trial(columns: Columns) -> None:
    if not isinstance(columns["plan"].get("trial"), str):
        raise InvalidRecordError("plan", columns["plan"], "a trial in words")


def _outcome(columns: Columns) -> None:
    words = (columns["facts"], columns["said_by"], columns["said_on"])
    name, pair, verdict = columns["name"], columns["pair_id"], columns["verdict"]
    learn([Outcome(name, fault_of(columns["fault"]), pair, verdict, *words)])


_SETTINGS = {
    "shared_kiln": ("yes", "no"),
    "region": REGIONS,
    "shown_temperature": TEMPERATURES,
    "shown_length": LENGTHS,
}


def _setting(columns: Columns) -> None:
    allowed = _SETTINGS.get(columns["name"])
    if allowed is not None:
        values.checked_choice(columns["name"], columns["value"], tuple(allowed))


_CHECKS: dict[str, Callable[[Columns], None]] = {
    "answer": _answer,
    "body": _body,
    "body_measure": _measure,
    "layer": _layer,
    "load": _load,
    "load_cone": _cone,
    "load_segment": _segment,
    "load_witness": _witness,
    "material": _material,
    "outcome": _outcome,
    "photo": _photo,
    "piece": _piece,
    "reading": _reading,
    "recipe": _recipe,
    "setting": _setting,
    "trial": _trial,
}
