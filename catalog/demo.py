"""The sample studio: a fresh catalogue filled from ``scenario.json``, each photo really read."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from catalog.errors import NotFreshError, ScenarioError
from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment
from catalog.store import Catalog
from catalog.values import code_key
from vision.errors import VisionError
from vision.reading import PhotoReading

__all__ = ["SCENARIO", "DemoReport", "PhotoReader", "fill_demo", "load_scenario", "match_tiles"]

SCENARIO = "scenario.json"

PhotoReader = Callable[[bytes, str, str | None], tuple[PhotoReading, Mapping[int, bytes]]]
"""Reads one photo: its bytes, its name and "tile", "ware", "patch" or None in; reading and views out."""


@dataclass(frozen=True, slots=True)
class DemoReport:
    """What filling did. `problems` names each photo or tile that did not come through, with the reason."""

    photos: int
    pieces: int
    problems: tuple[tuple[str, str], ...] = ()


def fill_demo(
    catalog: Catalog,
    folder: Path,
    read: PhotoReader,
    *,
    progress: Callable[[int, int, str], None] | None = None,
) -> DemoReport:
    """Fill a fresh catalogue with the sample studio. Done again, or after a break, it adds what is missing.

    Parameters
    ----------
    folder : holds ``scenario.json`` and its photos
    read : reads a photo; its `vision` errors are reported and the next photo follows
    progress : told (photos done, photos in all, name of the next) before each photo

    Raises
    ------
    ScenarioError : the scenario is missing, broken, or names a body, glaze or load it does not describe.
    NotFreshError : the catalogue holds pieces or loads of its own; nothing is added to it.
    """
    where = folder / SCENARIO
    scenario = load_scenario(where)
    _refuse_own_work(catalog, scenario)
    try:
        bodies = _add_bodies(catalog, scenario["bodies"])
        recipes = _add_recipes(catalog, scenario["recipes"])
        loads = _add_loads(catalog, scenario["loads"])
        photos = [(p["file"], p) for p in scenario["photos"]]
        drafts = {name: _drafts(photo["tiles"], bodies, recipes) for name, photo in photos}
        load_ids = {name: loads[photo["load"]] for name, photo in photos}
    except (KeyError, TypeError, ValueError, IndexError) as error:
        raise ScenarioError(str(where), f"{type(error).__name__} at {error}") from error
    problems: list[tuple[str, str]] = []
    filed_photos = filed_pieces = 0
    for done, (name, photo) in enumerate(photos):
        if progress is not None:
            progress(done, len(photos), name)
        try:
            data = (folder / name).read_bytes()
            reading, views = read(data, name, photo.get("subject"))
        except FileNotFoundError:
            problems.append((name, "the photo is not there"))
            continue
        except VisionError as error:
            problems.append((name, str(error)))
            continue
        pairs, missing = match_tiles([d.code or "" for d in drafts[name]], reading)
        problems += [(name, f"{code} was not found in the photo") for code in missing]
        if not pairs:
            continue
        said = [_at(drafts[name][position], index) for position, index in pairs]
        filed = catalog.file_photo(data, reading, said, load_ids[name], views)
        filed_photos += 1
        filed_pieces += len({piece.code for piece in filed})
    return DemoReport(filed_photos, filed_pieces, tuple(problems))


def match_tiles(codes: Sequence[str], reading: PhotoReading) -> tuple[list[tuple[int, int]], list[str]]:
    """Pair what a person says lies in a photo with what was found in it.

    A label read in the photo decides. The rest is paired in the order found, but only where as many tiles
    are left as codes: with one tile missed, order says nothing about which.

    Returns
    -------
    pairs of (position in `codes`, tile index), and the codes that found no tile
    """
    labels = {code_key(tile.label): i for i, tile in enumerate(reading.tiles) if tile.label is not None}
    pairs = [(p, labels[code_key(code)]) for p, code in enumerate(codes) if code_key(code) in labels]
    taken = {index for _, index in pairs}
    named = {position for position, _ in pairs}
    left_codes = [position for position in range(len(codes)) if position not in named]
    left_tiles = [
        i for i, tile in enumerate(reading.tiles) if i not in taken and not _says_other(tile.label, codes)
    ]
    if len(left_codes) == len(left_tiles):
        pairs += list(zip(left_codes, left_tiles, strict=True))
        left_codes = []
    return sorted(pairs), [codes[position] for position in left_codes]


def _says_other(label: str | None, codes: Sequence[str]) -> bool:
    return label is not None and code_key(label) not in {code_key(code) for code in codes}


def load_scenario(where: Path) -> dict[str, Any]:
    """Read a scenario file. Raises ScenarioError."""
    try:
        scenario = json.loads(where.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise ScenarioError(str(where), "it is not there") from error
    except (UnicodeDecodeError, json.JSONDecodeError) as error:
        raise ScenarioError(str(where), f"it is not JSON ({error})") from error
    if not isinstance(scenario, dict) or not {"bodies", "recipes", "loads", "photos"} <= scenario.keys():
        raise ScenarioError(str(where), "bodies, recipes, loads and photos are wanted in it")
    return scenario


def _refuse_own_work(catalog: Catalog, scenario: dict[str, Any]) -> None:
    theirs = {load.name for load in catalog.loads()} - {str(x.get("name")) for x in scenario["loads"]}
    own = catalog.count_pieces() - catalog.count_pieces(codes=tuple(_codes(scenario)))
    if theirs or own:
        raise NotFreshError(str(catalog.home.folder), own, len(theirs))


def _codes(scenario: dict[str, Any]) -> Iterator[str]:
    for photo in scenario["photos"]:
        for tile in photo["tiles"]:
            yield str(tile["code"])


def _add_bodies(catalog: Catalog, bodies: list[dict[str, Any]]) -> dict[str, int]:
    kept = {body.name: body.id for body in catalog.bodies()}
    for body in bodies:
        if body["name"] not in kept:
            kept[body["name"]] = catalog.add_body(
                body["name"],
                body["kind"],
                rated_cone=body.get("rated_cone"),
                absorption_pct=body.get("absorption_pct"),
                facts=body.get("facts", {}),
                notes=body.get("notes", ""),
            ).id
    return kept


def _add_recipes(catalog: Catalog, recipes: list[dict[str, Any]]) -> dict[str, int]:
    return {
        recipe["name"]: catalog.add_recipe(
            recipe["name"],
            [RecipeLine(line[0], line[1], bool(line[2:] and line[2])) for line in recipe["lines"]],
            cone_low=recipe.get("cone_low"),
            cone_high=recipe.get("cone_high"),
            intended=recipe.get("intended", []),
            facts=recipe.get("facts", {}),
            notes=recipe.get("notes", ""),
        ).id
        for recipe in recipes
    }


def _add_loads(catalog: Catalog, loads: list[dict[str, Any]]) -> dict[str, int]:
    kept = {load.name: load.id for load in catalog.loads()}
    for load in loads:
        if load["name"] not in kept:
            fired_on = load.get("fired_on")
            kept[load["name"]] = catalog.add_load(
                load["name"],
                load["kind"],
                kiln=load.get("kiln", ""),
                fired_on=None if fired_on is None else date.fromisoformat(fired_on),
                cone_aimed=load.get("cone_aimed"),
                cones=[ConeResult(*cone) for cone in load.get("cones", [])],
                atmosphere=load.get("atmosphere"),
                schedule=[Segment(*segment) for segment in load.get("schedule", [])],
                facts=load.get("facts", {}),
                notes=load.get("notes", ""),
            ).id
    return kept


def _drafts(
    tiles: list[dict[str, Any]], bodies: Mapping[str, int], recipes: Mapping[str, int]
) -> list[PieceDraft]:
    return [
        PieceDraft(
            tile_index=position,
            code=tile["code"],
            kind=tile.get("kind", "tile"),
            body_id=bodies[tile["body"]],
            layers=tuple(
                Layer(
                    recipe_id=recipes[layer["recipe"]],
                    name=layer["recipe"],
                    coats=layer.get("coats"),
                    method=layer.get("method"),
                    raw_thickness_mm=layer.get("raw_thickness_mm"),
                )
                for layer in tile["layers"]
            ),
            shelf=tile.get("shelf"),
            facts=tile.get("facts", {}),
            notes=tile.get("notes", ""),
        )
        for position, tile in enumerate(tiles)
    ]


def _at(draft: PieceDraft, tile_index: int) -> PieceDraft:
    return PieceDraft(
        tile_index, draft.code, draft.kind, draft.body_id, draft.layers, draft.shelf, draft.facts, draft.notes
    )
