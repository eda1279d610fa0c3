"""Codes for the pieces of a photo before it is filed."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from catalog.records import PieceDraft
from catalog.store import Catalog

__all__ = ["with_codes"]


def with_codes(catalog: Catalog, drafts: Sequence[PieceDraft], taken: Collection[str]) -> list[PieceDraft]:
    """Give each draft a code: its own, or a fresh one that no label of the same unloading bears.

    Parameters
    ----------
    drafts : of one photo
    taken : codes written on labels or typed anywhere in this unloading; without this, a piece without a
        label could be given the very code that a label in a later photo bears
    """
    held = {code.strip().casefold() for code in taken if code}
    coded = []
    for draft in drafts:
        code = draft.code
        while code is None or (draft.code is None and code.casefold() in held):
            code = catalog.reserve_codes(1, draft.kind)[0]
        coded.append(replace(draft, code=code))
    return coded
