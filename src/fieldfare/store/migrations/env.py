"""Run the steps on the connection of whoever opens the store, inside their transaction."""

from alembic import context

from fieldfare.store.tables import METADATA, VERSION_TABLE

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    version_table=VERSION_TABLE,
    transactional_ddl=True,
)
context.run_migrations()
