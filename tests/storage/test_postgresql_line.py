"""A PostgreSQL server that falls silent is given up and said to be silent; what merely takes long is waited for."""

from __future__ import annotations

import re
import threading
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from calendar_core.storage import postgresql_line
from calendar_core.storage.engine import open_store
from calendar_core.storage.errors import StoreError
from calendar_core.storage.schema.migrate import schema_change
from tests.silent_proxy import proxied

if TYPE_CHECKING:
    from calendar_core.storage.engine import Store

SILENT = r"^postgresql\+psycopg://app@/\S+: the server does not answer: see that it runs and can be reached$"
HANGS_S = 30  # what has not come back by then hangs


def said(store: Store, statement: str) -> str:
    """Return what the database answers to a statement, or what is said of it; fail where nothing comes back."""
    out: list[str] = []

    def ask() -> None:
        try:
            with store.read() as connection:
                out.append(str(connection.exec_driver_sql(statement).scalar()))
        except StoreError as error:
            out.append(str(error))

    thread = threading.Thread(target=ask, daemon=True)
    thread.start()
    thread.join(HANGS_S)
    assert out, "it hangs"
    return out[0]


@pytest.fixture(autouse=True)
def hurried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Give up after two seconds instead of a minute."""
    monkeypatch.setattr(postgresql_line, "SILENCE_S", 2)
    monkeypatch.setitem(postgresql_line.LIMITS, "connect_timeout", 2)


def test_a_line_that_falls_silent_is_given_up_and_a_new_one_taken(migrated_postgresql: str) -> None:
    with proxied(migrated_postgresql) as (url, proxy), closing(open_store(url)) as store:
        assert said(store, "SELECT 7") == "7"
        proxy.silent.set()
        for _ in range(2):  # first the open line, then a new one that is never answered
            assert re.search(SILENT, said(store, "SELECT 7"))
        proxy.silent.clear()
        assert said(store, "SELECT 7") == "7"


def test_a_silent_server_is_not_waited_for_when_it_is_opened(migrated_postgresql: str) -> None:
    with proxied(migrated_postgresql) as (url, proxy):
        proxy.silent.set()
        with pytest.raises(StoreError, match=SILENT):
            open_store(url)


def test_an_answer_that_comes_in_pieces_is_waited_for(migrated_postgresql: str) -> None:
    """Rows come for four seconds, twice as long as silence is borne."""
    with closing(open_store(migrated_postgresql)) as store, store.read() as connection:
        pieces = "SELECT repeat('x', 200000), pg_sleep(0.4) FROM generate_series(1, 10)"
        assert len(connection.exec_driver_sql(pieces).all()) == 10


def test_a_statement_has_its_limit_and_a_migration_takes_its_time(migrated_postgresql: str) -> None:
    with closing(open_store(migrated_postgresql)) as store:
        limit = said(store, "SHOW statement_timeout")
        with schema_change(store.engine) as connection:
            assert connection.exec_driver_sql("SHOW statement_timeout").scalar() == "0"
            assert connection.exec_driver_sql("SELECT length(pg_sleep(4)::text)").scalar() == 0
        assert limit == said(store, "SHOW statement_timeout") == "50s"


def test_what_the_url_says_of_the_line_holds(migrated_postgresql: str) -> None:
    with closing(open_store(f"{migrated_postgresql}&connect_timeout=77&keepalives_idle=5")) as store:
        with store.engine.connect() as connection:
            line = connection.connection.dbapi_connection
            assert line is not None
            parameters = line.info.get_parameters()
        assert {
            name: parameters[name] for name in ("connect_timeout", "keepalives_idle", "tcp_user_timeout")
        } == {
            "connect_timeout": "77",
            "keepalives_idle": "5",
            "tcp_user_timeout": "30000",
        }
