"""Composition limits of published models: what a glaze holds that a model was not made for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache

from catalog.package_data import read_rows

__all__ = ["UNMODELLED_LIMIT_PCT", "outside_limits"]

UNMODELLED_LIMIT_PCT = 1.0
"""A model is silent where oxides it does not know make up more than this (wt or mol %; our choice)."""


@cache
def _limits(model: str, level: str) -> tuple[tuple[str, str, float], ...]:
    return tuple(
        (row["oxide"], row["bound"], float(row["value"]))
        for row in read_rows("catalog.glaze", "viscosity_limits.csv")
        if row["model"] == model and row["level"] == level
    )


def outside_limits(
    model: str, level: str, parts: Mapping[str, float], known: Iterable[str] = ()
) -> tuple[str, ...]:
    """Say in what ways a composition lies outside a model; empty when it lies inside.

    Parameters
    ----------
    model, level : str
        As in `data/viscosity_limits.csv`.
    parts : mapping of str to float
        Oxides in the unit of the model's limits.
    known : iterable of str
        Oxides the model has a term for without a limit; they count as known up to `UNMODELLED_LIMIT_PCT`.

    Returns
    -------
    tuple of str
        Such as "MgO 9.1 wt% above 6".
    """
    unit = "mol%" if model.startswith("Fluegel") else "wt%"
    limits = _limits(model, level)
    found = []
    for oxide, bound, value in limits:
        given = parts.get(oxide, 0.0)
        if bound == "max" and given > value:
            found.append(f"{oxide} {given:.2f} {unit} above {value:g}")
        elif bound == "min" and given < value:
            found.append(f"{oxide} {given:.2f} {unit} below {value:g}")
    limited = {oxide for oxide, _, _ in limits}
    unlimited = set(known) - limited
    for oxide in sorted(unlimited):
        if parts.get(oxide, 0.0) > UNMODELLED_LIMIT_PCT:
            found.append(f"{oxide} {parts[oxide]:.2f} {unit}, no range known for it")
    strange = {o: pct for o, pct in parts.items() if o not in limited and o not in unlimited and pct > 0.0}
    if sum(strange.values()) > UNMODELLED_LIMIT_PCT:
        names = ", ".join(f"{oxide} {pct:.2f}" for oxide, pct in strange.items())
        found.append(f"no term for {names} {unit}")
    return tuple(found)
