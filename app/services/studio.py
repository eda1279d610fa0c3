"""The studio's own things: clays, glazes, loads. Made where a name is new, found where it is not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from catalog.records import Body, ConeResult, Layer, Load, Recipe
from catalog.store import Catalog

__all__ = [
    "METHODS",
    "body_named",
    "glaze_layer",
    "latest_glazes",
    "load_named",
    "load_title",
    "save_cones",
]

METHODS = ("dip", "pour", "brush", "spray")
"""Values of the fact `application.method`."""


def load_named(catalog: Catalog, name: str) -> tuple[Load, bool]:
    """Give the glaze load of this name, made if there is none, and whether it was made."""
    wanted = " ".join(name.split()).casefold()
    for load in catalog.loads("glaze"):
        if load.name.casefold() == wanted:
            return load, False
    return catalog.add_load(name), True


def body_named(catalog: Catalog, name: str) -> Body:
    """Give the clay body of this name, made if there is none."""
    wanted = " ".join(name.split()).casefold()
    for body in catalog.bodies():
        if body.name.casefold() == wanted:
            return body
    return catalog.add_body(name)


def latest_glazes(catalog: Catalog) -> dict[str, Recipe]:
    """Give the newest revision of each glaze by name."""
    return {recipe.name: recipe for recipe in catalog.recipes()}


def glaze_layer(
    catalog: Catalog,
    name: str,
    *,
    coats: int | None = None,
    method: str | None = None,
    glazes: dict[str, Recipe] | None = None,
) -> Layer:
    """Give a layer of this glaze: its newest revision, or the bare name where no recipe is kept."""
    known = latest_glazes(catalog) if glazes is None else glazes
    wanted = " ".join(name.split()).casefold()
    recipe = next((r for r in known.values() if r.name.casefold() == wanted), None)
    if recipe is None:
        return Layer(None, " ".join(name.split()), coats, method)
    return Layer(recipe.id, recipe.name, coats, method)


def load_title(load: Load) -> str:
    """Give a load's name with its date where the name does not hold it."""
    when = load.fired_on
    if when is None or str(when.day) in load.name:
        return load.name
    return f"{load.name} ({day_words(when)})"


def day_words(day: date) -> str:
    """Give a day in the reader's words (`app.words.choices`)."""
    from app.words.choices import day_words as in_words

    return in_words(day)


def save_cones(catalog: Catalog, load_id: int, cones: Sequence[ConeResult]) -> Load:
    """Keep the witness cones of a load as they were read, shelf by shelf."""
    return catalog.update_load(load_id, cones=list(cones))
