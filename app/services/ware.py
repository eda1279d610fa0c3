"""Ware for the screen: the list with what each piece may be used for, and who to reach in a recall."""

from __future__ import annotations

from app.services.studio import load_title
from app.words.causes import WARE_WORDS, sentence
from app.words.choices import day_words
from catalog.casebook.case import Use, use_of
from catalog.records import Piece
from catalog.store import Catalog
from catalog.ware.holders import Holder

__all__ = ["made_rows", "recall_csv", "recall_rows"]


def made_rows(piece: Piece, use: Use) -> list[tuple[str, str]]:
    """Give what a piece is made of, for a table."""
    glazes = " over ".join(layer.name for layer in reversed(piece.layers)) or "not said"
    load = piece.load
    rows = [
        ("What it is", WARE_WORDS[use.ware]),
        ("Glaze", glazes),
        ("Clay body", "not said" if piece.body is None else piece.body.name),
        ("Load", "not said" if load is None else load_title(load)),
        ("Shelf", piece.shelf or "not said"),
    ]
    if load is not None and load.fired_on is not None:
        rows.append(("Fired on", day_words(load.fired_on)))
    return rows


def recall_rows(catalog: Catalog, use: Use) -> list[dict[str, str]]:
    """Give the sister pieces of one that failed with who has them: those that are out first."""
    holders = catalog.ware.holders()
    rows = [_recall_row(sister.code, sister.shares, holders.get(sister.code)) for sister in use.sisters]
    return sorted(rows, key=lambda row: (not row["Who has it"], row["Piece"]))


def _recall_row(code: str, shares: tuple[str, ...], holder: Holder | None) -> dict[str, str]:
    return {
        "Piece": code,
        "Shares": ", ".join(f"same {what}" for what in shares),
        "Who has it": "" if holder is None else holder.holder,
        "Note": "" if holder is None else holder.note,
    }


def recall_csv(rows: list[dict[str, str]]) -> bytes:
    """Give the list as a CSV file, UTF-8 with a mark so that spreadsheets read the letters."""
    import csv
    from io import StringIO

    out = StringIO()
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode("utf-8-sig")


def use_line(catalog: Catalog, piece: Piece) -> str:
    """Give what a piece may be used for in one sentence."""
    return sentence(use_of(catalog, piece).statement.use)
