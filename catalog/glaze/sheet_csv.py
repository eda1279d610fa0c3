"""A supplier's analysis sheet from a CSV file with columns oxide and wt_pct."""

from __future__ import annotations

import tempfile
from pathlib import Path

from catalog.delimited import TableError, read_delimited, read_number
from catalog.glaze.analysis_sheet import AnalysisSheet
from catalog.glaze.errors import AnalysisSheetError

__all__ = ["read_sheet_bytes", "read_sheet_csv"]

_LOSS = frozenset({"loi", "l.o.i.", "loss", "loss on ignition"})
_FLUORINE = frozenset({"f", "fluorine"})
_MOISTURE = frozenset({"moisture", "water"})


def read_sheet_csv(path: Path, name: str, *, basis: str = "dry", lot: str = "") -> AnalysisSheet:
    """Read an analysis sheet.

    Parameters
    ----------
    path : Path
        Columns `oxide` and `wt_pct` in any order; separator comma, semicolon or tab; decimal point or comma.
        Rows for the loss on ignition ("LOI", "loss on ignition"), fluorine ("F") and moisture are told by
        their names.
    name : str
        The material, as it shall be written in recipes.
    basis : str
        As `AnalysisSheet.basis`.
    lot : str

    Returns
    -------
    AnalysisSheet
        With the cells as written; `own_material` checks them.

    Raises
    ------
    AnalysisSheetError
        No such file, a missing column, no row for the loss on ignition (write 0 where there is none), or a
        loss, fluorine or moisture that is no number.
    """
    try:
        table = read_delimited(path)
    except TableError as error:
        raise AnalysisSheetError(name, f"{path.name}: {error.reason}") from error
    missing = [column for column in ("oxide", "wt_pct") if column not in table.columns]
    if missing:
        has = ", ".join(table.columns) or "nothing"
        raise AnalysisSheetError(
            name,
            f"{path.name}: no column {' and '.join(missing)} (the head has {has}); wanted: oxide, wt_pct",
        )
    cells: dict[str, float | str] = {}
    told: dict[str, float] = {}
    for line, row in table.rows:
        label = row["oxide"].strip()
        kind = _kind(label)
        if label in cells or kind in told:
            raise AnalysisSheetError(name, f"{path.name}, line {line}: {label} stands twice")
        if not kind:
            cells[label] = row["wt_pct"]
            continue
        try:
            told[kind] = read_number(row["wt_pct"])
        except ValueError as error:
            raise AnalysisSheetError(
                name, f"{path.name}, line {line}: {label} {row['wt_pct']!r}; wanted: a number"
            ) from error
    if "loss" not in told:
        raise AnalysisSheetError(
            name, f"{path.name}: no row for the loss on ignition; wanted: LOI, with 0 where there is none"
        )
    return AnalysisSheet(
        name=name,
        oxides_wt_pct=cells,
        loi_pct=told["loss"],
        basis=basis,
        fluorine_pct=told.get("fluorine", 0.0),
        moisture_pct=told.get("moisture"),
        lot=lot,
        source=f"supplier's analysis, {path.name}",
    )


def read_sheet_bytes(data: bytes, file_name: str, name: str) -> AnalysisSheet:
    """Read an analysis sheet from a file's bytes. Raises AnalysisSheetError (as `read_sheet_csv`)."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / (Path(file_name).name or "sheet.csv")
        place.write_bytes(data)
        return read_sheet_csv(place, name)


def _kind(label: str) -> str:
    folded = label.lower()
    for kind, names in (("loss", _LOSS), ("fluorine", _FLUORINE), ("moisture", _MOISTURE)):
        if folded in names:
            return kind
    return ""
