"""People and their sign-ins, hashed quickly where the hash itself is not looked at."""

import pytest
from argon2 import PasswordHasher

from catalog.people.passphrase import PassphraseHasher
from catalog.store import Catalog
from tests.catalog.people.words import ANA, BEN, CLEO, DORA, Clock


@pytest.fixture(autouse=True)
def quick_hash(monkeypatch, request):
    if "true_hash" not in request.fixturenames:
        weak = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
        monkeypatch.setattr(PassphraseHasher, "_hasher", weak)


@pytest.fixture
def true_hash():
    """The hash as it is outside the tests."""


@pytest.fixture
def clock(catalog, monkeypatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(catalog.sign_ins, "clock", made)
    return made


@pytest.fixture
def studio(catalog, clock) -> Catalog:
    catalog.people.add("Ana", "keeper", passphrase=ANA)
    catalog.people.add("Ben", "member", passphrase=BEN)
    return catalog


@pytest.fixture
def hands(catalog):
    """The catalogue in the hands of a keeper, two members and a reader."""
    people = [
        catalog.people.add("Ana", "keeper", passphrase=ANA),
        catalog.people.add("Ben", "member", passphrase=BEN),
        catalog.people.add("Cleo", "member", passphrase=CLEO),
        catalog.people.add("Dora", "reader", passphrase=DORA),
    ]
    return {person.name: catalog.acting_as(person) for person in people}
