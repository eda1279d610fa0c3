"""Which glazes are known to run: from filed readings, people's words and what their recipes say."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from sqlalchemy import exists, func, or_, select
from sqlalchemy.orm import Session

from catalog.causes.errors import UnknownFaultError
from catalog.causes.knowledge import fault_of
from catalog.records import Recipe
from catalog.tables import JudgementRow, LayerRow, PieceFaultRow, PieceRow, ReadingRow

__all__ = ["GlazeRuns", "glaze_runs"]


@dataclass(frozen=True, slots=True)
class GlazeRuns:
    """What is known of a glaze that may run: pieces that ran, pieces looked at, what its recipe says."""

    ran: int = 0
    seen: int = 0
    said_fluid: bool = False

    @property
    def is_known(self) -> bool:
        """Tell whether the glaze is known to run."""
        return self.said_fluid or self.ran > 0


def glaze_runs(session: Session, names: Collection[str], recipes: Iterable[Recipe]) -> dict[str, GlazeRuns]:
    """Count on how many pieces each glaze ran, of those that a photo or a person has looked at.

    Parameters
    ----------
    names : casefolded names of the glazes asked about
    recipes : whose facts may say that the melt is fluid (`recipe.melt`, from a flow test)

    Returns
    -------
    dict of str to GlazeRuns by casefolded name; glazes of which nothing is known are left out
    """
    spelt = {name for name in session.scalars(select(LayerRow.name).distinct()) if name.casefold() in names}
    words = [word for word in session.scalars(select(PieceFaultRow.fault).distinct()) if _is_run(word)]
    ran = _counted(
        session, spelt, PieceRow.id.in_(select(PieceFaultRow.piece_id).where(PieceFaultRow.fault.in_(words)))
    )
    looked_at = or_(
        exists().where(ReadingRow.piece_id == PieceRow.id),
        exists().where(
            JudgementRow.piece_id == PieceRow.id,
            JudgementRow.about == "fault",
            JudgementRow.removed_at.is_(None),
        ),
    )
    seen = _counted(session, spelt, looked_at)
    fluid = {
        each.name.casefold()
        for each in recipes
        if each.facts.get("recipe.melt") == "fluid" and each.name.casefold() in names
    }
    return {
        name: GlazeRuns(ran.get(name, 0), seen.get(name, 0), name in fluid) for name in {*ran, *seen, *fluid}
    }


def _counted(session: Session, names: Collection[str], condition: object) -> dict[str, int]:
    query = (
        select(LayerRow.name, func.count(LayerRow.piece_id.distinct()))
        .join(PieceRow, PieceRow.id == LayerRow.piece_id)
        .where(LayerRow.name.in_(names), PieceRow.deleted_at.is_(None), condition)  # type: ignore[arg-type]
        .group_by(LayerRow.name)
    )
    found: dict[str, int] = {}
    for name, count in session.execute(query):
        found[name.casefold()] = found.get(name.casefold(), 0) + count
    return found


def _is_run(word: str) -> bool:
    try:
        return fault_of(word) == "run"
    except UnknownFaultError:
        return False
