"""Tables that ship with the package, read as rows of text."""

from __future__ import annotations

import csv
from importlib.resources import files

__all__ = ["read_rows"]


def read_rows(package: str, name: str) -> list[dict[str, str]]:
    """Read a CSV table from a package's `data` folder.

    Parameters
    ----------
    package : str
        Such as "catalog.causes".
    name : str
        File name inside `data`, such as "causes.csv".

    Returns
    -------
    list of dict
        One dict a row, keys from the head line, values stripped text ("" where empty).
    """
    text = files(package).joinpath("data", name).read_text(encoding="utf-8")
    return [{k: (v or "").strip() for k, v in row.items()} for row in csv.DictReader(text.splitlines())]
