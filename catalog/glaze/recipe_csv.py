"""A recipe from a CSV file with columns material and amount."""

from __future__ import annotations

from pathlib import Path

from catalog.delimited import TableError, read_delimited, read_number
from catalog.glaze.errors import RecipeFileError
from catalog.records import RecipeLine

__all__ = ["read_recipe_csv"]

_WANTED = "wanted: a head line with the columns material and amount"
_YES = frozenset({"1", "true", "yes", "y", "x", "addition"})


def read_recipe_csv(path: Path) -> tuple[RecipeLine, ...]:
    """Read a recipe.

    Parameters
    ----------
    path : Path
        Columns `material` and `amount` (parts by weight, any total) in any order, upper or lower case;
        an optional column `addition` marks what stands above the base ("yes", "x", "1"). Separator comma,
        semicolon or tab; decimal point or comma.

    Returns
    -------
    tuple of RecipeLine
        In the file's order. Material names are taken as written; `formula_of` finds what they stand for.

    Raises
    ------
    RecipeFileError
        No such file, a missing column, an amount that is text, negative or missing, or no rows; with the
        line, what was found, and what is wanted.
    """
    try:
        table = read_delimited(path)
    except TableError as error:
        raise RecipeFileError(path.name, f"{error.reason}", error.line) from error
    missing = [name for name in ("material", "amount") if name not in table.columns]
    if missing:
        has = ", ".join(table.columns) or "nothing"
        raise RecipeFileError(path.name, f"no column {' and '.join(missing)} (the head has {has}); {_WANTED}")
    lines = []
    for number, row in table.rows:
        if not row["material"]:
            raise RecipeFileError(path.name, f"amount {row['amount']} without a material", number)
        amount = _amount(path, number, row)
        lines.append(RecipeLine(row["material"], amount, row.get("addition", "").lower() in _YES))
    if not lines:
        raise RecipeFileError(path.name, f"no rows under the head line; {_WANTED}")
    if not any(line.amount > 0.0 for line in lines):
        raise RecipeFileError(path.name, "every amount is zero")
    return tuple(lines)


def _amount(path: Path, number: int, row: dict[str, str]) -> float:
    wanted = f"{row['material']}: amount {row['amount']!r}; wanted: a number, zero or more"
    try:
        amount = read_number(row["amount"])
    except ValueError as error:
        raise RecipeFileError(path.name, wanted, number) from error
    if amount < 0.0:
        raise RecipeFileError(path.name, wanted, number)
    return amount
