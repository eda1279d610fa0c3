"""Who works with a catalogue: the first is the keeper, there is always one, no passphrase is kept as such."""

import sqlite3

import pytest
from argon2 import extract_parameters
from argon2.low_level import Type

from catalog.errors import InvalidRecordError, NameTakenError
from catalog.home import DATABASE_NAME
from catalog.people.errors import LastKeeperError, PersonNotFoundError
from catalog.people.passphrase import PassphraseHasher, checked_passphrase
from catalog.people.tables import PersonRow
from tests.catalog.people.words import ANA, BEN


def test_there_is_nobody_at_first(catalog):
    assert catalog.people.list() == ()
    assert not catalog.people.any()


@pytest.mark.parametrize("role", ["member", "reader"])
def test_the_first_is_a_keeper(catalog, role):
    with pytest.raises(LastKeeperError):
        catalog.people.add("Ana", role, passphrase=ANA)
    assert not catalog.people.any()


def test_people_are_found_by_name_in_any_case_and_spacing(catalog):
    catalog.people.add("Ana  Lund", "keeper", passphrase=ANA)
    catalog.people.add("Ben", "reader", passphrase=BEN)
    assert [(p.name, p.role) for p in catalog.people.list()] == [("Ana Lund", "keeper"), ("Ben", "reader")]
    assert catalog.people.named(" ana LUND ").is_keeper
    with pytest.raises(NameTakenError):
        catalog.people.add("BEN", "member", passphrase=BEN)
    with pytest.raises(PersonNotFoundError) as caught:
        catalog.people.named("Cleo")
    assert caught.value.known == ("Ana Lund", "Ben")


def test_the_last_keeper_stays_one(catalog):
    catalog.people.add("Ana", "keeper", passphrase=ANA)
    catalog.people.add("Ben", "member", passphrase=BEN)
    with pytest.raises(LastKeeperError):
        catalog.people.leave("Ana")
    with pytest.raises(LastKeeperError):
        catalog.people.set_role("Ana", "member")
    catalog.people.set_role("Ben", "keeper")
    assert catalog.people.leave("Ana").left_at is not None
    assert [p.name for p in catalog.people.list()] == ["Ben"]
    assert [p.name for p in catalog.people.list(left_too=True)] == ["Ana", "Ben"]


def test_somebody_who_left_can_come_back_as_the_same_person(catalog):
    catalog.people.add("Ana", "keeper", passphrase=ANA)
    ben = catalog.people.add("Ben", "member", passphrase=BEN)
    catalog.people.leave("Ben")
    again = catalog.people.add("Ben", "reader", passphrase=BEN)
    assert (again.uid, again.role, again.left_at) == (ben.uid, "reader", None)


def test_a_person_needs_a_way_to_sign_in_and_an_email_of_their_own(catalog):
    with pytest.raises(InvalidRecordError):
        catalog.people.add("Ana", "keeper")
    with pytest.raises(InvalidRecordError):
        catalog.people.add("Ana", "keeper", email="ana at home")
    catalog.people.add("Ana", "keeper", email="Ana@Example.org")
    with pytest.raises(NameTakenError):
        catalog.people.add("Ben", "member", email="ana@example.org")


# --- passphrases


@pytest.mark.usefixtures("true_hash")
def test_a_passphrase_is_kept_only_as_argon2id_of_rfc_9106(catalog):
    """Type id, 64 MiB, 3 passes, 4 lanes: RFC 9106 section 4, second recommended option (from memory)."""
    catalog.people.add("Ana", "keeper", passphrase=ANA)
    with catalog.database.reading() as session:
        kept = session.query(PersonRow).one().passphrase_hash
    found = extract_parameters(kept)
    assert (found.type, found.memory_cost, found.time_cost, found.parallelism) == (Type.ID, 65536, 3, 4)
    assert ANA not in kept


def test_equal_passphrases_have_hashes_of_their_own():
    hasher = PassphraseHasher()
    assert hasher.make(ANA) != hasher.make(ANA)


@pytest.mark.parametrize(
    "given",
    [
        "too short words",  # 15, but see below: this one is taken
        "b" * 40,
        "ababababababababab",
        "Ana Ana Glostbook Ana",
        "fourteen chars",
        "x" * 300,
    ],
)
def test_what_is_asked_of_a_passphrase(given):
    """15 characters or more, 64 at least taken, no rules of composition: NIST SP 800-63B-4, from memory."""
    if given == "too short words":
        assert checked_passphrase(given, "Ana") == given
        return
    with pytest.raises(InvalidRecordError) as caught:
        checked_passphrase(given, "Ana")
    assert given not in str(caught.value)
    assert given not in repr(vars(caught.value))


def test_a_long_passphrase_in_any_alphabet_is_taken():
    long = "дом у реки, печь и глина; " * 3
    assert len(long) > 64
    hasher = PassphraseHasher()
    assert hasher.fits(hasher.make(checked_passphrase(long, "Ana")), long)


def test_one_passphrase_typed_on_two_keyboards_fits():
    """An accented letter as one sign, or letter and accent: NFKC (NIST SP 800-63B-4, from memory)."""
    hasher = PassphraseHasher()
    kept = hasher.make(checked_passphrase("caf\u00e9 au lait et terre", "Ana"))
    assert hasher.fits(kept, "cafe\u0301 au lait et terre")
    assert not hasher.fits(kept, "cafe au lait et terre")


def test_no_passphrase_stands_anywhere_in_the_file(catalog, home):
    if not catalog.database.is_sqlite:
        pytest.skip("about SQLite's file")
    catalog.people.add("Ana", "keeper", passphrase=ANA)
    token = catalog.sign_ins.by_passphrase("Ana", ANA)
    with sqlite3.connect(home / DATABASE_NAME) as database:
        dump = "\n".join(database.iterdump())
    database.close()
    assert "argon2id" in dump
    assert ANA not in dump
    assert token not in dump
