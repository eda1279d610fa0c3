"""Alembic's entry: runs on the connection that `catalog.migrate` hands over, inside its transaction."""

from __future__ import annotations

from alembic import context

from catalog import card_tables as _card_tables  # noqa: F401 (its rows belong to the models)
from catalog import workshop_tables as _workshop_tables  # noqa: F401 (its rows belong to the models)
from catalog.bench import tables as _bench_tables  # noqa: F401 (its rows belong to the models)
from catalog.casebook import tables as _casebook_tables  # noqa: F401 (its rows belong to the models)
from catalog.people import tables as _people_tables  # noqa: F401 (its rows belong to the models)
from catalog.tables import Base
from catalog.unloading import tables as _unloading_tables  # noqa: F401 (its rows belong to the models)

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
