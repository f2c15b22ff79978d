"""Opening a store: made and brought up to date on the way, by several at once, and never half."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, text

from fieldfare.store.revisions import history, save_revision
from fieldfare.store.store import NEWEST, Store, migrations, open_store, reading, url_of, writing
from fieldfare.store.tables import METADATA, VERSION_TABLE
from fieldfare.units.faults import Fault, NotDone

OPENER = """
import sys
from fieldfare.store.events import add_events, Event
from fieldfare.store.revisions import save_revision
from fieldfare.store.store import open_store
who = sys.argv[2]
with open_store(sys.argv[1]) as store:
    for turn in range(5):
        save_revision(store, "show", "dance", {"who": who, "turn": turn})
        event = {"device": who, "show": "dance", "kind": "note", "at": "2026-12-04T20:00:00Z"}
        mine = Event(id=f"{who}-{turn}", **event)
        add_events(store, [mine, Event(id=f"shared-{turn}", **(event | {"device": "any"}))])
"""


def test_a_store_is_made_where_there_is_none_and_found_again(url: str) -> None:
    with open_store(url) as store:
        save_revision(store, "show", "dance", {"title": "Midwinter"})
    with open_store(url) as store:
        assert [one.body for one in history(store, "show", "dance")] == [{"title": "Midwinter"}]


def test_the_store_of_a_folder_lies_in_it_whatever_the_folder_is_called(tmp_path: Path) -> None:
    folder = tmp_path / ("what 100% #dance ö" if sys.platform == "win32" else "what? 100% #dance ö")
    folder.mkdir()
    with open_store(url_of(folder)) as store:
        save_revision(store, "show", "dance", {})
    assert [path.name for path in folder.iterdir()] == ["fieldfare.sqlite"]


def test_the_migrations_lead_to_the_tables_of_the_program(store: Store) -> None:
    with reading(store) as connection:
        context = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE})
        ours = [change for change in compare_metadata(context, METADATA) if VERSION_TABLE not in repr(change)]
        assert ours == []
    assert ScriptDirectory.from_config(migrations()).get_heads() == [NEWEST]


def test_a_store_of_a_newer_program_is_left_alone(url: str) -> None:
    with open_store(url) as store, writing(store) as connection:
        connection.execute(text(f"UPDATE {VERSION_TABLE} SET version_num = '9999'"))
    with pytest.raises(NotDone, match="the store is of version 9999; use the newer fieldfare that wrote it"):
        open_store(url)


@pytest.mark.parametrize("table", ["fieldfare_revision", "fieldfare_event"])
@pytest.mark.parametrize("statement", ["DELETE FROM {}", "UPDATE {} SET kind = 'x'"])
def test_the_database_itself_refuses_to_change_a_row(store: Store, table: str, statement: str) -> None:
    save_revision(store, "show", "dance", {})
    with writing(store) as connection:
        connection.execute(
            text(
                "INSERT INTO fieldfare_event (id, device, show, kind, about, text, at, received_at) "
                "VALUES ('1', 'd', 'dance', 'note', '', '', '2026-12-04 20:00:00', '2026-12-04 20:00:00')"
            )
        )
    with pytest.raises(NotDone, match="rows are only ever added"), writing(store) as connection:
        connection.execute(text(statement.format(table)))
    assert len(history(store, "show", "dance")) == 1


def test_several_programs_open_and_write_at_once_and_nothing_is_lost(url: str) -> None:
    """The database is empty: all of them meet at its making."""
    names = ["phone", "laptop", "desk"]
    running = [
        subprocess.Popen([sys.executable, "-c", OPENER, url, name], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        for name in names
    ]
    said = [process.communicate(timeout=120)[0].decode() for process in running]
    assert [process.returncode for process in running] == [0, 0, 0], said
    with open_store(url) as store:
        saved = history(store, "show", "dance")
        assert [one.number for one in saved] == list(range(1, 16))
        assert {(one.body["who"], one.body["turn"]) for one in saved} == {
            (name, turn) for name in names for turn in range(5)
        }
        with reading(store) as connection:
            ids = list(connection.execute(text("SELECT id FROM fieldfare_event")).scalars())
    assert sorted(ids) == sorted([f"{name}-{turn}" for name in [*names, "shared"] for turn in range(5)])


def _power_cut_while_writing(store: Store) -> None:
    with writing(store) as connection:
        connection.execute(
            text(
                "INSERT INTO fieldfare_revision (kind, name, number, digest, body, saved_at) "
                "VALUES ('show', 'dance', 1, '', '{}', '2026-12-04 20:00:00')"
            )
        )
        raise RuntimeError("the light went out")


def test_what_fails_midway_leaves_nothing_behind(store: Store) -> None:
    with pytest.raises(RuntimeError, match="the light went out"):
        _power_cut_while_writing(store)
    assert history(store, "show", "dance") == ()


def test_a_file_that_is_no_store_is_told_and_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "fieldfare.sqlite"
    path.write_bytes(b"a shopping list, and nothing else whatsoever" * 20)
    with pytest.raises(
        NotDone, match=r"fieldfare\.sqlite: the database says: file is not a database; move that file away"
    ):
        open_store(url_of(tmp_path))
    assert path.read_bytes().startswith(b"a shopping list")


def test_another_program_s_tables_are_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "fieldfare.sqlite"
    with sqlite3.connect(path) as theirs:
        theirs.execute("CREATE TABLE alembic_version (version_num TEXT)")
        theirs.execute("INSERT INTO alembic_version VALUES ('theirs')")
    theirs.close()
    with open_store(url_of(tmp_path)) as store, reading(store) as connection:
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == "theirs"


@pytest.mark.parametrize(
    ("url", "said"),
    [
        ("not a url", "the store: this is not the URL of a database; write sqlite:///path/to/file or postgresql://"),
        ("mysql://root@localhost/x", "the store: mysql is not a database that can be used; use sqlite or postgresql"),
    ],
)
def test_a_url_that_is_none_is_told(url: str, said: str) -> None:
    with pytest.raises(Fault, match=said):
        open_store(url)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotDone, match=r"unable to open database file; check that the folder is there"):
        open_store(url_of(tmp_path / "gone"))


def test_a_server_that_is_not_there_is_told_without_the_password(tmp_path: Path) -> None:
    with pytest.raises(NotDone, match="check that the database server runs and the URL is right") as caught:
        open_store(f"postgresql://me:secret@/show?host={tmp_path}")
    assert "secret" not in str(caught.value)


def test_a_database_that_was_opened_by_hand_may_be_read_by_any_tool(url: str) -> None:
    """The body is JSON in a table of a plain name: nobody needs this program to get at what they own."""
    with open_store(url) as store:
        save_revision(store, "show", "dance", {"title": "Dance"})
    engine = create_engine(url.replace("postgresql://", "postgresql+psycopg://"))
    with engine.connect() as connection:
        body = connection.execute(text("SELECT body FROM fieldfare_revision")).scalar()
    engine.dispose()
    assert body in ('{"title": "Dance"}', {"title": "Dance"})
