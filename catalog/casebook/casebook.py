"""`Casebook`: the part of the catalogue about faults, what was tried, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from catalog.casebook import answers, leach_results, outcomes, trials, unphotographed, who_else
from catalog.casebook.nearby_trials import sister_results
from catalog.casebook.records import Answer, KeptLeach, KeptOutcome, KeptTrial, Ways
from catalog.causes.diagnosis import Diagnosis
from catalog.causes.exact_test import Tally
from catalog.causes.learning import Learned, Outcome, exported, imported, learn
from catalog.causes.trial_result import TrialResult
from catalog.causes.wider_facts import tallies_of
from catalog.database import Database
from catalog.records import FactValue, Piece
from catalog.ware.leach import LeachResult
from catalog.ware.sisters import Sister

__all__ = ["Casebook"]


class Casebook:
    """Answers, trials, outcomes, release tests, batches and wanted effects.

    Made by `Catalog`; each method is one transaction. Errors are `catalog.errors.CatalogError`.
    """

    def __init__(self, database: Database) -> None:
        self.database = database
        self._known: tuple[tuple[object, ...], Learned, tuple[Outcome, ...]] | None = None

    # --- the studio

    def ways(self) -> Ways:
        """Give how the studio works."""
        with self.database.reading() as session:
            return answers.ways(session)

    def set_ways(self, ways: Ways) -> Ways:
        """Keep how the studio works."""
        with self.database.writing() as session:
            return answers.set_ways(session, ways)

    def glaze_effects(self, glaze: str) -> frozenset[str]:
        """Give the effects that a glaze is meant to have, beside those of its recipe's revisions."""
        with self.database.reading() as session:
            return answers.glaze_effects(session, glaze).get(glaze.casefold(), frozenset())

    def set_glaze_effects(self, glaze: str, effects: Iterable[str]) -> None:
        """Say which effects a glaze is meant to have, on all its pieces, those filed before too."""
        with self.database.writing() as session:
            answers.set_glaze_effects(session, glaze, effects)

    # --- what a person says of a piece

    def answers(self, piece: Piece) -> tuple[Answer, ...]:
        """Give the answers that stand for a piece."""
        with self.database.reading() as session:
            return answers.answers_of(session, piece.id)

    def answer(
        self, code: str, fact: str, value: FactValue | None, *, certainty: float = 1.0, by: str = ""
    ) -> None:
        """Keep an answer; None says that it was asked and nobody knows.

        Raises UnknownFactError, FactValueError, PieceNotFoundError.
        """
        with self.database.writing() as session:
            answers.keep_answer(session, code, fact, value, certainty, by)

    def take_back(self, code: str, fact: str) -> None:
        """Take an answer back."""
        with self.database.writing() as session:
            answers.take_back(session, code, fact)

    def batches(self, piece: Piece) -> dict[str, str]:
        """Give the bucket and the lot of clay of a piece, by kind ("bucket", "clay_lot")."""
        with self.database.reading() as session:
            return answers.batches_of(session, piece.id)

    def set_batch(self, code: str, kind: str, name: str | None) -> None:
        """Keep which bucket or lot of clay a piece is of."""
        with self.database.writing() as session:
            answers.set_batch(session, code, kind, name)

    def set_place(self, code: str, fault: str, place: str) -> None:
        """Keep where on a piece a fault stands, one of `ware.statement.PLACES`."""
        with self.database.writing() as session:
            answers.set_place(session, code, fault, place)

    def set_ware(self, code: str, ware: str) -> None:
        """Keep which class of ware a piece is, one of `ware.leach.WARE_CLASSES`."""
        with self.database.writing() as session:
            answers.set_ware(session, code, ware)

    def places(self, piece: Piece) -> tuple[dict[str, str], str | None]:
        """Give where each fault stands, by its own name, and the class of ware if a person said it."""
        with self.database.reading() as session:
            return answers.places_of(session, piece.id), answers.ware_of_answers(session, piece.id)

    def add_piece(
        self,
        fault: str,
        *,
        kind: str = "ware",
        glaze: str | None = None,
        body_id: int | None = None,
        load_id: int | None = None,
        shelf: str | None = None,
        coats: int | None = None,
    ) -> str:
        """File a piece that has no photo, with the fault a person names; gives its code."""
        with self.database.writing() as session:
            return unphotographed.add_piece(
                session,
                fault,
                kind=kind,
                glaze=glaze,
                body_id=body_id,
                load_id=load_id,
                shelf=shelf,
                coats=coats,
            )

    # --- who else

    def tallies(self, piece: Piece, fault: str) -> tuple[Tally, ...]:
        """Count who else shows a fault, by bucket, clay lot, layers and shelf over all loads."""
        with self.database.reading() as session:
            own = who_else.traits_of(session, piece, fault)
            near = tallies_of(own, who_else.like_pieces(session, piece, own, fault))
            return (*near, *who_else.counted(session, piece, own, fault))

    def sisters(self, piece: Piece) -> tuple[Sister, ...]:
        """Give the pieces to look at or call back when a piece fails."""
        with self.database.reading() as session:
            return who_else.sisters_of(session, piece)

    # --- trials

    def plan_trial(self, code: str, diagnosis: Diagnosis, about: str) -> KeptTrial:
        """Write down one of a diagnosis's trials (`about` is its cause id) and make its tiles.

        Raises
        ------
        CausesError
            The diagnosis has no such trial.
        """
        trial = next((t for t in diagnosis.next_trials if t.about == about), None)
        with self.database.writing() as session:
            return trials.plan_trial(session, code, diagnosis, trial, about)

    def trials(self, piece: Piece | None = None) -> tuple[KeptTrial, ...]:
        """Give the trials about a piece or with it as a part, newest first; without a piece all."""
        with self.database.reading() as session:
            return trials.list_trials(session) if piece is None else trials.trials_of(session, piece.id)

    def sister_results(self, piece: Piece, fault: str) -> tuple[TrialResult, ...]:
        """Give what trials about sister pieces say of a fault, to be heard softly."""
        with self.database.reading() as session:
            return sister_results(piece, fault, trials.about_others(session, piece.id, fault))

    def say_outcome(self, number: int, said: str | None, *, by: str = "", note: str = "") -> KeptTrial:
        """Keep a person's word on a trial's outcome; None lets the photos speak again."""
        with self.database.writing() as session:
            return trials.say_outcome(session, number, said, by, note)

    def drop_trial(self, number: int) -> None:
        """Take a trial away, and its tiles that nobody photographed."""
        with self.database.writing() as session:
            trials.drop_trial(session, number)

    # --- learning

    def keep_word(
        self,
        code: str,
        fault: str,
        pair_id: str,
        verdict: str,
        facts: Mapping[str, FactValue],
        *,
        by: str = "",
    ) -> KeptOutcome:
        """Keep a person's word on a cause ("confirmed", "refuted", "fix_worked") and learn from it."""
        with self.database.writing() as session:
            return outcomes.keep_word(session, code, fault, pair_id, verdict, facts, by)

    def outcomes(self, *, undone: bool = False) -> tuple[KeptOutcome, ...]:
        """Give the outcomes that stand, or those taken back, newest first."""
        with self.database.reading() as session:
            return outcomes.list_outcomes(session, undone=undone)

    def undo(self, number: int) -> None:
        """Take an outcome back: what was learned from it is gone."""
        with self.database.writing() as session:
            outcomes.undo(session, number)

    def learned(self) -> tuple[Learned, tuple[Outcome, ...]]:
        """Give what the outcomes that stand have taught, and those outcomes; worked out anew on a change."""
        with self.database.reading() as session:
            state = outcomes.state(session)
            if self._known is None or self._known[0] != state:
                found = tuple(kept.outcome for kept in outcomes.list_outcomes(session))
                self._known = (state, learn(found), found)
            return self._known[1:]

    def export_outcomes(self) -> str:
        """Give the outcomes that stand as JSON text for another studio, without names of persons."""
        return exported(kept.outcome for kept in reversed(self.outcomes()))

    def import_outcomes(self, text: str) -> tuple[int, int]:
        """Add another studio's outcomes; gives how many were added and how many were known already.

        Raises CausesError for text of another form.
        """
        given: tuple[Outcome, ...] = imported(text)
        with self.database.writing() as session:
            return outcomes.import_outcomes(session, given)

    # --- release tests

    def add_leach(
        self, code: str, result: LeachResult, *, ware: str, region: str, note: str = ""
    ) -> KeptLeach:
        """Keep one figure of a laboratory's report on a tested piece. Raises InvalidRecordError."""
        with self.database.writing() as session:
            return leach_results.add_leach(session, code, result, ware, region, note)

    def leach(self, piece: Piece) -> tuple[KeptLeach, ...]:
        """Give the results that bear on a piece, newest first."""
        with self.database.reading() as session:
            return leach_results.leach_of(session, piece)

    def remove_leach(self, number: int) -> None:
        """Take a result away."""
        with self.database.writing() as session:
            leach_results.remove_leach(session, number)
