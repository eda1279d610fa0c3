"""Signing in: tokens end, tries are limited, and a wrong name looks like a wrong passphrase."""

import threading
from datetime import timedelta

import pytest
from argon2 import extract_parameters
from sqlalchemy import event

from catalog.people import tries
from catalog.people.errors import TooManyTriesError, WrongSignInError
from catalog.people.passphrase import PassphraseHasher
from catalog.people.records import Person
from catalog.people.sign_in import ABSOLUTE, IDLE
from catalog.people.tables import AttemptRow, SignInRow
from catalog.store import Catalog
from tests.catalog.people.words import ANA, BEN


@pytest.fixture
def quick(monkeypatch):
    """Hashing left out, where only the counting is looked at."""
    monkeypatch.setattr("catalog.people.passphrase.PassphraseHasher.fits", lambda *_: False)


def holder(catalog: Catalog, token: str) -> str | None:
    person = catalog.sign_ins.person_of(token)
    return person.name if isinstance(person, Person) else None


def test_name_and_passphrase_give_a_token_that_names_the_person(studio):
    token = studio.sign_ins.by_passphrase("  ANA ", ANA)
    assert holder(studio, token) == "Ana"
    assert holder(studio, token + "x") is None
    assert holder(studio, "") is None
    other = studio.sign_ins.by_passphrase("Ana", ANA)
    assert other != token
    assert len(token) >= 43  # 256 bits in base 64


def test_the_token_is_kept_as_a_digest_only(studio):
    token = studio.sign_ins.by_passphrase("Ana", ANA)
    with studio.database.reading() as session:
        kept = session.query(SignInRow).one().token_digest
    assert token not in kept
    assert len(kept) == 64


@pytest.mark.parametrize(
    ("name", "words"), [("Ana", BEN), ("Cleo", ANA), ("", ""), ("Ana", ""), ("Ana", "x" * 5000)]
)
def test_wrong_name_and_wrong_passphrase_are_one_error(studio, name, words):
    with pytest.raises(WrongSignInError) as caught:
        studio.sign_ins.by_passphrase(name, words)
    assert str(caught.value) == str(WrongSignInError())


def test_an_unknown_name_takes_the_same_steps_as_a_wrong_passphrase(studio, monkeypatch):
    """One comparison with a hash of equal cost, and the same statements: neither time nor answer tells."""
    studio.people.add("Gone", "member", passphrase=BEN)
    studio.people.leave("Gone")
    studio.people.add("Cleo", "reader", email="cleo@example.org")
    compared: list[tuple[object, ...]] = []
    weak = studio.sign_ins.hasher._hasher

    class Watched:
        def hash(self, words):
            return weak.hash(words)

        def verify(self, kept, words):
            found = extract_parameters(kept)
            compared.append((found.memory_cost, found.time_cost, found.parallelism, found.hash_len))
            return weak.verify(kept, words)

    monkeypatch.setattr(PassphraseHasher, "_hasher", Watched())
    asked: list[str] = []
    engine = studio.database.engine
    event.listen(engine, "before_cursor_execute", lambda *given: asked.append(given[2]))
    steps = {}
    for name in ("Ana", "Nobody", "Gone", "Cleo"):
        compared.clear()
        asked.clear()
        wrong(studio, name)
        steps[name] = (tuple(compared), tuple(asked))
    assert len(steps["Ana"][0]) == 1
    assert set(steps.values()) == {steps["Ana"]}


# --- how long a sign-in lasts


def test_unused_it_ends_after_an_hour_and_used_after_a_day_in_the_studio(studio, clock):
    """IDLE and ABSOLUTE: figures and sources beside them."""
    assert (timedelta(hours=1), timedelta(hours=12)) == (IDLE, ABSOLUTE)
    token = studio.sign_ins.by_passphrase("Ana", ANA)
    clock.go(minutes=59)
    assert holder(studio, token) == "Ana"
    clock.go(minutes=61)
    assert holder(studio, token) is None
    token = studio.sign_ins.by_passphrase("Ana", ANA)
    for _ in range(13):
        clock.go(minutes=55)
        assert holder(studio, token) == "Ana"
    clock.go(minutes=10)
    assert holder(studio, token) is None


def test_signing_out_ends_this_one_only(studio):
    here, there = studio.sign_ins.by_passphrase("Ana", ANA), studio.sign_ins.by_passphrase("Ana", ANA)
    studio.sign_ins.end(here)
    assert (holder(studio, here), holder(studio, there)) == (None, "Ana")


@pytest.mark.parametrize("step", ["passphrase", "role", "leave"])
def test_a_changed_person_has_to_sign_in_again(studio, step):
    ben, ana = studio.sign_ins.by_passphrase("Ben", BEN), studio.sign_ins.by_passphrase("Ana", ANA)
    if step == "passphrase":
        studio.people.set_passphrase("Ben", "another five words or so")
    elif step == "role":
        studio.people.set_role("Ben", "reader")
    else:
        studio.people.leave("Ben")
    assert (holder(studio, ben), holder(studio, ana)) == (None, "Ana")
    if step != "role":
        with pytest.raises(WrongSignInError):
            studio.sign_ins.by_passphrase("Ben", BEN)


def test_an_address_vouched_for_signs_in_who_has_it(studio):
    studio.people.add("Cleo", "reader", email="cleo@example.org")
    assert holder(studio, studio.sign_ins.by_email("CLEO@example.org")) == "Cleo"
    for address in ("", "ana@example.org"):
        with pytest.raises(WrongSignInError):
            studio.sign_ins.by_email(address)
    with pytest.raises(WrongSignInError):
        studio.sign_ins.by_passphrase("Cleo", "")


# --- how often it may be tried


def wrong(catalog, name="Ana") -> None:
    with pytest.raises(WrongSignInError):
        catalog.sign_ins.by_passphrase(name, "not it, I am afraid")


def waits(catalog, name="Ana") -> float | None:
    with pytest.raises(TooManyTriesError) as caught:
        catalog.sign_ins.by_passphrase(name, "not it, I am afraid")
    return caught.value.wait_s


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("name", ["Ana", "Nobody"])
def test_after_five_wrong_ones_the_wait_doubles_up_to_an_hour(studio, clock, name):
    for _ in range(tries.FREE_TRIES):
        wrong(studio, name)
    for wanted in (30, 60, 120, 240, 480, 960, 1920, 3600, 3600):
        assert waits(studio, name) == wanted
        clock.go(seconds=wanted / 2)
        assert waits(studio, name) == wanted / 2  # asking meanwhile is not counted
        clock.go(seconds=wanted / 2)
        wrong(studio, name)


def test_the_right_passphrase_is_refused_while_waiting_and_forgets_the_wrong_ones(studio, clock):
    for _ in range(tries.FREE_TRIES):
        wrong(studio)
    with pytest.raises(TooManyTriesError):
        studio.sign_ins.by_passphrase("Ana", ANA)
    assert holder(studio, studio.sign_ins.by_passphrase("Ben", BEN)) == "Ben"
    clock.go(seconds=30)
    studio.sign_ins.by_passphrase("Ana", ANA)
    for _ in range(tries.FREE_TRIES):
        wrong(studio)


@pytest.mark.usefixtures("quick")
def test_a_hundred_wrong_ones_lock_until_a_keeper_sets_a_new_passphrase(studio, clock):
    """No more than 100 in a row on one account: NIST SP 800-63B (from memory)."""
    for _ in range(tries.LOCKED_AT):
        clock.go(hours=1, seconds=1)
        wrong(studio)
    clock.go(days=20)
    assert waits(studio) is None
    studio.people.set_passphrase("Ana", "five new words by hand")
    wrong(studio)


@pytest.mark.usefixtures("quick")
def test_many_names_in_turn_make_everybody_wait(studio, clock):
    for number in range(tries.FREE_TRIES_IN_ALL):
        wrong(studio, f"name {number}")
    assert waits(studio, "Ben") == 2
    for wanted in (2, 4, 8, 16, 32, 60, 60):
        clock.go(seconds=wanted)
        wrong(studio, f"after {wanted} at {clock.at}")
    clock.go(hours=1, seconds=1)
    wrong(studio, "Ben")
    wrong(studio, "Ben")


@pytest.mark.usefixtures("quick")
def test_tries_made_at_once_are_all_counted(studio):
    """Each of 20 threads tries as it starts: no more than the free ones reach the passphrase."""
    outcomes: list[str] = []

    def one() -> None:
        try:
            studio.sign_ins.by_passphrase("Ana", "not it, I am afraid")
        except (WrongSignInError, TooManyTriesError) as error:
            outcomes.append(type(error).__name__)

    threads = [threading.Thread(target=one) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (
        sorted(outcomes)
        == ["TooManyTriesError"] * (20 - tries.FREE_TRIES) + ["WrongSignInError"] * tries.FREE_TRIES
    )


@pytest.mark.usefixtures("quick")
def test_a_clock_set_back_locks_nobody_out_for_longer_than_the_wait(studio, clock):
    for _ in range(tries.FREE_TRIES):
        wrong(studio)
    clock.go(days=-400)
    assert waits(studio) <= tries.LONGEST_WAIT.total_seconds()


@pytest.mark.usefixtures("quick")
def test_names_tried_are_kept_as_digests_and_not_for_long(studio, clock):
    wrong(studio, "maybe a passphrase typed here")
    with studio.database.reading() as session:
        kept = {row.who for row in session.query(AttemptRow)}
    assert not any("maybe" in who for who in kept)
    clock.go(days=31)
    wrong(studio, "Ana")
    with studio.database.reading() as session:
        assert session.query(AttemptRow).count() == 2
