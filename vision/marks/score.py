"""How well found marks agree with known ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from vision.marks.examples import KnownMark
from vision.reading import MARK_KINDS, Mark

__all__ = ["Score", "score_marks"]


@dataclass(slots=True)
class Score:
    """Running totals over surfaces.

    Attributes
    ----------
    known, found : marks of the counted size in truth and in the reading, by kind
    located, right : known marks that were found at all, and found and named right, by kind
    named_right : found marks whose kind is right, by kind as found
    placed : found marks that lie on any mark, by kind as found
    size_errors : |found / true diameter - 1|
    confusion : (true kind, found kind) of each pair
    chances : stated probability and whether place and kind were right, of each mark found
    """

    known: dict[str, int] = field(default_factory=lambda: dict.fromkeys(map(str, MARK_KINDS), 0))
    found: dict[str, int] = field(default_factory=lambda: dict.fromkeys(map(str, MARK_KINDS), 0))
    located: dict[str, int] = field(default_factory=lambda: dict.fromkeys(map(str, MARK_KINDS), 0))
    right: dict[str, int] = field(default_factory=lambda: dict.fromkeys(map(str, MARK_KINDS), 0))
    named_right: dict[str, int] = field(default_factory=lambda: dict.fromkeys(map(str, MARK_KINDS), 0))
    placed: dict[str, int] = field(default_factory=lambda: dict.fromkeys(map(str, MARK_KINDS), 0))
    size_errors: list[float] = field(default_factory=list)
    confusion: dict[tuple[str, str], int] = field(default_factory=dict)
    chances: list[tuple[float, bool]] = field(default_factory=list)

    def calibration_error(self, bins: int = 10) -> float:
        """Give the expected calibration error: |stated - true share|, weighted, over equal bins."""
        if not self.chances:
            return 0.0
        stated, right = np.array(self.chances, np.float64).T
        which = np.minimum((stated * bins).astype(np.intp), bins - 1)
        gaps = [
            abs(float(stated[which == k].mean() - right[which == k].mean())) * int((which == k).sum())
            for k in np.unique(which)
        ]
        return sum(gaps) / len(stated)

    def located_figures(self) -> tuple[float, float]:
        """Give precision and recall of "there is a mark here", whatever its name."""
        return (
            sum(self.placed.values()) / max(1, sum(self.found.values())),
            sum(self.located.values()) / max(1, sum(self.known.values())),
        )

    def named_figures(self) -> tuple[float, float]:
        """Give precision and recall where place and kind must both be right."""
        return (
            sum(self.named_right.values()) / max(1, sum(self.found.values())),
            sum(self.right.values()) / max(1, sum(self.known.values())),
        )

    def lines(self) -> list[str]:
        """Write the figures out, a line a kind."""
        place, name = self.located_figures(), self.named_figures()
        out = [
            f"placed: precision {place[0]:.3f} recall {place[1]:.3f}; placed and named: "
            f"precision {name[0]:.3f} recall {name[1]:.3f}; "
            f"median size error {np.median(self.size_errors or [0]):.3f}; "
            f"calibration error {self.calibration_error():.3f}"
        ]
        for kind in map(str, MARK_KINDS):
            precision = self.named_right[kind] / max(1, self.found[kind])
            recall = self.right[kind] / max(1, self.known[kind])
            located = self.located[kind] / max(1, self.known[kind])
            out.append(
                f"  {kind:8s} known {self.known[kind]:4d} found {self.found[kind]:4d} "
                f"precision {precision:.3f} recall {recall:.3f} located {located:.3f}"
            )
        return out


def score_marks(
    known: Sequence[KnownMark], found: Sequence[Mark], score: Score, *, from_px: float, slack_px: float = 2.0
) -> Score:
    """Add one surface to the totals.

    Parameters
    ----------
    known : true marks, pixels of the surface
    found : read marks
    score : changed and given back
    from_px : true diameter from which a mark is asked for; smaller true marks may be found or not
    slack_px : centres may differ by this or by half the true diameter, whichever is more

    Notes
    -----
    Pairs are made nearest first, relative to size. A found mark on a smaller true mark counts for nothing.
    """
    pairs = []
    for i, k in enumerate(known):
        for j, m in enumerate(found):
            away = float(np.hypot(m.x_px - k.x_px, m.y_px - k.y_px))
            reach = max(0.5 * k.diameter_px, slack_px)
            if away < reach and 1 / 3 < m.diameter_px / k.diameter_px < 3:
                pairs.append((away / reach, i, j))
    used_known: set[int] = set()
    used_found: set[int] = set()
    excused: set[int] = set()
    right: set[int] = set()
    for _, i, j in sorted(pairs):
        if i in used_known or j in used_found:
            continue
        used_known.add(i)
        used_found.add(j)
        true, read = known[i], found[j]
        if true.diameter_px < from_px:
            excused.add(j)
            continue
        kind = str(read.kind)
        score.located[true.kind] += 1
        score.placed[kind] += 1
        score.confusion[(true.kind, kind)] = score.confusion.get((true.kind, kind), 0) + 1
        score.size_errors.append(abs(read.diameter_px / true.diameter_px - 1))
        if kind == true.kind:
            right.add(j)
            score.right[kind] += 1
            score.named_right[kind] += 1
    for k in known:
        if k.diameter_px >= from_px:
            score.known[k.kind] += 1
    for j, m in enumerate(found):
        if j not in excused:
            score.found[str(m.kind)] += 1
            score.chances.append((m.probability, j in right))
    return score
