"""What is known about causes, as data: read from `data/causes.csv`, checked, and kept.

Evidence is written `strength: condition [& condition ...]`, items parted by " | "; a condition is a
field of the vocabulary, one of == >= <= < >, and a value; cones are written `cone:06` and compare on the
cone ladder. Priors, strengths and thresholds are one collector's judgement of a small shared electric
studio; no study stands behind them, and each row carries its source and basis. The priors are that judgement,
worth 40 cases of each fault, with the causes of 81 publicly told cases counted in.

Each cause also has a seat: where in the studio the fault sits (the recipe, this batch, the coat, the clay,
the heat ...). `data/seat_evidence.csv` holds what every cause of a seat has in common ("only one glaze shows
it" speaks for recipe and batch, against clay and bisque), so that a cause whose own row does not speak of a
fact still hears it. A cause's own evidence on a fact stands in place of its seat's.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from catalog.causes.errors import KnowledgeError, UnknownFaultError, nearest
from catalog.causes.vocabulary import check_value, field
from catalog.firing.cones import cone_position
from catalog.package_data import read_rows
from catalog.records import FactValue

__all__ = [
    "LIKELIHOOD_RATIO",
    "CauseRule",
    "Condition",
    "EvidenceRule",
    "FaultInfo",
    "SeatEvidence",
    "causes_of",
    "fault_info",
    "fault_names",
    "fault_of",
    "parse_condition",
    "parse_evidence",
    "seat_evidence",
]

LIKELIHOOD_RATIO: Mapping[str, float] = {"weak": 1.5, "medium": 3.0, "strong": 8.0}
"""How much likelier the fact is when the cause is at work (defects.md section 7; judgement, not measured)."""

_OPERATORS: Mapping[str, Callable[[Any, Any], bool]] = {
    "==": operator.eq,
    ">=": operator.ge,
    "<=": operator.le,
    ">": operator.gt,
    "<": operator.lt,
}
_CONDITION = re.compile(r"^(?P<key>[a-z]+\.\w+)\s*(?P<op>==|>=|<=|>|<)\s*(?P<value>\S+)$")

_FAULT_ALIASES: Mapping[str, str] = {
    "pinholed": "pinhole",
    "pinholes": "pinhole",
    "pinholing": "pinhole",
    "blistered": "blister",
    "blisters": "blister",
    "blistering": "blister",
    "cratered": "crater",
    "craters": "crater",
    "specked": "speck_dark",
    "speck": "speck_dark",
    "specks": "speck_dark",
    "crazed": "craze",
    "crazing": "craze",
    "crawled": "crawl",
    "crawling": "crawl",
    "shivered": "shiver",
    "shivering": "shiver",
    "running": "run",
    "dunted": "dunt",
    "dunting": "dunt",
    "bloated": "bloat",
    "bloating": "bloat",
    "glossy": "too_glossy",
    "unnamed": "unclassified",
}
"""The reading's adjectives and the trade's nouns for the faults' own names."""

_KINDS_OF: Mapping[tuple[str, str], frozenset[str]] = {
    ("body.kind", "earthenware"): frozenset({"earthenware", "red_earthenware"}),
    ("body.kind", "stoneware"): frozenset({"stoneware", "dark_stoneware"}),
}
"""Words that include others: what is said of earthenware is said of red earthenware too."""

_BORROWED: Mapping[str, tuple[str, ...]] = {
    "pit_dimple": ("pinhole",),
    "crater": ("blister",),
    "scum_devit": ("dull/D03_slow_cool_crystals", "dull/D05_sulphate_or_scum"),
    "pluck": ("run", "speck_foreign"),
    "unclassified": ("pinhole", "blister", "speck_foreign", "colour_off"),
}
"""Faults whose causes are those of another fault, or single pairs of it (defects.md section 7)."""


@dataclass(frozen=True, slots=True)
class Condition:
    """One comparison of a fact with a value. Cone values are ladder texts, compared by position."""

    key: str
    op: str
    value: FactValue

    def holds(self, fact: FactValue) -> bool:
        """Tell whether a fact's (checked) value meets the condition."""
        if field(self.key).type == "cone":
            return _OPERATORS[self.op](cone_position(str(fact)), cone_position(str(self.value)))
        kinds = _KINDS_OF.get((self.key, str(self.value)))
        if kinds is not None:
            return fact in kinds
        return _OPERATORS[self.op](fact, self.value)


@dataclass(frozen=True, slots=True)
class EvidenceRule:
    """Conditions that together are evidence; `ratio` multiplies the odds of its cause when all hold."""

    strength: str
    conditions: tuple[Condition, ...]
    speaks_for: bool

    @property
    def group(self) -> str:
        """Theme the evidence counts under: that of its first condition."""
        return field(self.conditions[0].key).group

    @property
    def ratio(self) -> float:
        """Likelihood ratio: above 1 for, below 1 against."""
        ratio = LIKELIHOOD_RATIO[self.strength]
        return ratio if self.speaks_for else 1.0 / ratio

    @property
    def text(self) -> str:
        """The conditions as written, with the direction: a name for this evidence within its cause."""
        said = " & ".join(f"{c.key} {c.op} {c.value}" for c in self.conditions)
        return f"{'for' if self.speaks_for else 'against'}: {said}"


@dataclass(frozen=True, slots=True)
class CauseRule:
    """One fault with one of its causes (a row of `data/causes.csv`)."""

    pair_id: str
    fault: str
    cause_id: str
    cause: str
    mechanism: str
    evidence: tuple[EvidenceRule, ...]
    prior_share: float
    remedy: str
    next_trial: str
    discriminates_from: tuple[str, ...]
    risk_caution: str
    source: str
    basis: str
    seats: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SeatEvidence:
    """Evidence that all causes of some seats share (a row of `data/seat_evidence.csv`)."""

    rule: EvidenceRule
    seats: frozenset[str]
    basis: str


@dataclass(frozen=True, slots=True)
class FaultInfo:
    """What a fault is called, what it is mistaken for, and how to tell (a row of `data/defects.csv`)."""

    fault: str
    trade_term: str
    also_called: tuple[str, ...]
    look_alikes: tuple[str, ...]
    how_to_tell: str
    standard_terms: str
    basis: str


def parse_condition(text: str) -> Condition:
    """Read one condition, such as ``firing.cone_over_range >= 1`` or ``body.bisque_cone < cone:06``.

    Raises
    ------
    KnowledgeError
        The text does not follow the language.
    UnknownFactError, FactValueError
        The field is not in the vocabulary, or the value does not fit it.
    """
    match = _CONDITION.match(text.strip())
    if match is None:
        raise KnowledgeError(f"condition {text!r} is not `field op value`")
    key, op, written = match["key"], match["op"], match["value"]
    spec = field(key)
    value: FactValue
    if spec.type == "bool":
        if written not in ("true", "false"):
            raise KnowledgeError(f"condition {text!r}: a yes/no field takes true or false")
        value = written == "true"
    elif spec.type in ("class", "cone"):
        value = check_value(key, written)
    else:
        value = check_value(key, float(written))
    if spec.type in ("bool", "class") and op != "==":
        raise KnowledgeError(f"condition {text!r}: {spec.type} fields compare with == only")
    return Condition(key, op, value)


def parse_evidence(text: str, *, speaks_for: bool) -> tuple[EvidenceRule, ...]:
    """Read a cell of evidence; an empty cell gives none.

    Raises
    ------
    KnowledgeError
        A strength or condition that does not follow the language.
    """
    rules = []
    for item in filter(None, (part.strip() for part in text.split(" | "))):
        strength, colon, body = item.partition(":")
        if not colon or strength not in LIKELIHOOD_RATIO:
            raise KnowledgeError(f"evidence {item!r} does not start with weak:, medium: or strong:")
        conditions = tuple(parse_condition(part) for part in body.split("&"))
        rules.append(EvidenceRule(strength, conditions, speaks_for))
    return tuple(rules)


def _rule(row: Mapping[str, str]) -> CauseRule:
    return CauseRule(
        pair_id=row["pair_id"],
        fault=row["defect_id"],
        cause_id=row["cause_id"],
        cause=row["cause"],
        mechanism=row["mechanism"],
        evidence=parse_evidence(row["evidence_for"], speaks_for=True)
        + parse_evidence(row["evidence_against"], speaks_for=False),
        prior_share=float(row["prior_share"]),
        remedy=row["remedy"],
        next_trial=row["next_trial"],
        discriminates_from=tuple(p.strip() for p in row["discriminates_from"].split("|") if p.strip()),
        risk_caution=row["risk_caution"],
        source=row["source"],
        basis=row["basis"],
        seats=tuple(row["seat"].split("/")),
    )


@cache
def seat_evidence(seat: str) -> tuple[SeatEvidence, ...]:
    """Give the evidence that all causes of a seat share.

    Parameters
    ----------
    seat : str
        Such as "recipe", "batch", "coat", "body", "over" (too much heat).

    Raises
    ------
    KnowledgeError
        The table breaks the language.
    """
    found = []
    for row in read_rows("catalog.causes", "seat_evidence.csv"):
        seats = frozenset(row["seats"].split("/"))
        if seat not in seats:
            continue
        (rule,) = parse_evidence(
            f"{row['strength']}: {row['condition']}", speaks_for=row["direction"] == "for"
        )
        found.append(SeatEvidence(rule, seats, row["basis"]))
    return tuple(found)


@cache
def _rules() -> Mapping[str, CauseRule]:
    rules = [_rule(row) for row in read_rows("catalog.causes", "causes.csv")]
    by_pair = {rule.pair_id: rule for rule in rules}
    for rule in rules:
        if rule.pair_id != f"{rule.fault}/{rule.cause_id}":
            raise KnowledgeError(f"{rule.pair_id}: is not fault/cause")
        if not 0.0 < rule.prior_share < 1.0:
            raise KnowledgeError(f"{rule.pair_id}: prior share {rule.prior_share} is not between 0 and 1")
        missing = [pair for pair in rule.discriminates_from if pair not in by_pair]
        if missing:
            raise KnowledgeError(f"{rule.pair_id}: tells apart from unknown {', '.join(missing)}")
    return by_pair


@cache
def fault_names() -> tuple[str, ...]:
    """Give every fault for which causes are known, in the table's order, borrowed ones last."""
    own = dict.fromkeys(rule.fault for rule in _rules().values())
    return (*own, *_BORROWED)


def fault_of(word: str) -> str:
    """Give the fault's own name for a word ("blistered", "blistering" and "blister" are one).

    Raises
    ------
    UnknownFaultError
        No causes are known under that word; the error names the nearest fault.
    """
    folded = word.strip().lower().replace(" ", "_").replace("-", "_")
    name = _FAULT_ALIASES.get(folded, folded)
    if name not in fault_names():
        guess = nearest(word, (*fault_names(), *_FAULT_ALIASES))
        raise UnknownFaultError(word, None if guess is None else _FAULT_ALIASES.get(guess, guess))
    return name


@cache
def causes_of(fault: str) -> tuple[tuple[CauseRule, float], ...]:
    """Give the causes of a fault with their prior shares, which add to less than 1.

    Parameters
    ----------
    fault : str
        Any word `fault_of` takes.

    Returns
    -------
    tuple of (CauseRule, float)
        Where a fault borrows the causes of several others, each lends an equal part of its shares; single
        borrowed pairs keep their own share (what is left stands for "something else").

    Raises
    ------
    UnknownFaultError
        No causes are known under that word.
    """
    name = fault_of(fault)
    sources = _BORROWED.get(name, (name,))
    whole = [source for source in sources if "/" not in source]
    found: list[tuple[CauseRule, float]] = []
    for rule in _rules().values():
        if rule.fault in whole:
            found.append((rule, rule.prior_share / len(whole)))
        elif rule.pair_id in sources:
            found.append((rule, rule.prior_share))
    total = sum(share for _, share in found)
    if total >= 1.0:
        raise KnowledgeError(f"{name}: prior shares add to {total}, not to less than 1")
    return tuple(found)


@cache
def fault_info(fault: str) -> FaultInfo:
    """Give what a fault is called and what it is mistaken for.

    Parameters
    ----------
    fault : str
        Any word `fault_of` takes.

    Raises
    ------
    UnknownFaultError
        No causes are known under that word.
    """
    name = fault_of(fault)
    row = next(row for row in read_rows("catalog.causes", "defects.csv") if row["defect_id"] == name)

    def parts(cell: str, separator: str) -> tuple[str, ...]:
        return tuple(part.strip() for part in cell.split(separator) if part.strip(" -"))

    return FaultInfo(
        fault=name,
        trade_term=row["trade_term"],
        also_called=parts(row["also_called"], ","),
        look_alikes=parts(row["look_alikes"], ";"),
        how_to_tell=row["how_to_tell"],
        standard_terms=row["standard_terms"],
        basis=row["basis"],
    )
