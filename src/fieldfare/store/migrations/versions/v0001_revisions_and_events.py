"""Make the tables of revisions and events, and let the database itself refuse to change or remove a row."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_TABLES = ("fieldfare_revision", "fieldfare_event")


def upgrade() -> None:
    """Make both tables."""
    counted = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
    op.create_table(
        "fieldfare_revision",
        sa.Column("id", counted, primary_key=True),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("body", sa.JSON, nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.UniqueConstraint("kind", "name", "number"),
    )
    op.create_table(
        "fieldfare_event",
        sa.Column("number", counted, primary_key=True, comment="order of arrival"),
        sa.Column("id", sa.Text, nullable=False, unique=True, comment="given by the device"),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("show", sa.Text, nullable=False, index=True),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("about", sa.Text, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
    )
    if op.get_bind().dialect.name == "postgresql":
        _only_add_in_postgresql()
    else:
        _only_add_in_sqlite()


def _only_add_in_sqlite() -> None:
    for table in _TABLES:
        for act in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
                "BEGIN SELECT RAISE(ABORT, 'rows are only ever added'); END"
            )


def _only_add_in_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION fieldfare_only_add() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'rows are only ever added'; END $$"
    )
    for table in _TABLES:
        op.execute(
            f"CREATE TRIGGER {table}_only_add BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION fieldfare_only_add()"
        )
