"""The services themselves: versions, roles, what each may do, and work that outlives a killed worker."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import psycopg
import pytest
import redis
from celery import Celery
from django.db import ProgrammingError, connection

from service.broker import broker_settings
from tests.stack.conftest import kill_group, wait_for

ROOT = Path(__file__).resolve().parents[2]


def rows(sql: str, *values) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return cursor.fetchall()


def test_the_database_is_postgresql_15_or_newer(db):
    assert connection.vendor == "postgresql"
    assert connection.pg_version >= 150000


def test_redis_keeps_queued_work_and_never_evicts(queue):
    client = redis.Redis.from_url(queue)
    assert client.config_get("maxmemory-policy")["maxmemory-policy"] == "noeviction"
    assert client.config_get("appendonly")["appendonly"] == "yes"
    client.close()


def test_neither_role_can_step_round_a_policy(db):
    flags = rows(
        "SELECT rolname, rolsuper, rolbypassrls, rolcreaterole FROM pg_roles WHERE rolname IN (%s, %s) ORDER BY 1",
        "app_rt",
        "owner_mig",
    )
    assert flags == [("app_rt", False, False, False), ("owner_mig", False, False, False)]


def test_the_service_owns_nothing_and_may_use_every_table(db):
    tables = rows(
        """
        SELECT c.relname, pg_get_userbyid(c.relowner),
               has_table_privilege('app_rt', c.oid, 'SELECT') AND has_table_privilege('app_rt', c.oid, 'INSERT')
               AND has_table_privilege('app_rt', c.oid, 'UPDATE') AND has_table_privilege('app_rt', c.oid, 'DELETE'),
               has_table_privilege('app_rt', c.oid, 'TRUNCATE')
          FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
         WHERE n.nspname = 'public' AND c.relkind IN ('r', 'p')
        """
    )
    assert len(tables) > 10
    assert [name for name, owner, _, _ in tables if owner != "owner_mig"] == []
    assert [name for name, _, use, _ in tables if not use] == []
    assert [name for name, _, _, empty in tables if empty] == []


@pytest.mark.parametrize(
    "sql",
    [
        "CREATE TABLE customers_extra (id int)",
        "DROP TABLE customers_dealer",
        "ALTER TABLE customers_site DISABLE ROW LEVEL SECURITY",
        "TRUNCATE customers_dealer CASCADE",
        "ALTER ROLE app_rt BYPASSRLS",
        "CREATE POLICY all_of_it ON customers_site USING (true)",
    ],
)
def test_the_service_cannot_change_the_walls(app_role, sql):
    with pytest.raises(ProgrammingError), connection.cursor() as cursor:
        cursor.execute(sql)


def test_roles_may_be_made_again_without_harm():
    """The script that makes them runs at each deployment of some; it must not object to what is there."""
    address = os.environ["DATABASE_URL"].replace("owner_mig:owner@", "postgres@")
    psql = next(Path("/usr/lib/postgresql").glob("*/bin/psql"), Path("psql"))
    subprocess.run([psql, "-q", "-d", address, "-f", "service/postgres/roles.sql"], cwd=ROOT, check=True)
    with psycopg.connect(os.environ["APP_DATABASE_URL"]) as connected:
        assert connected.execute("SELECT current_user").fetchone() == ("app_rt",)


def test_the_whole_schema_can_be_made_by_the_owner_and_served_by_the_other_role(tmp_path):
    """As composed: one job migrates as the owner, then the service answers as the role that owns nothing."""
    state = {"TARNHOUSE_VAR": str(tmp_path)}
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "--no-input", "-v", "0"],
        cwd=ROOT,
        env=os.environ | state,
        check=True,
    )
    source = "from django.test import Client; print(Client().get('/health/').status_code)"
    answer = subprocess.run(
        [sys.executable, "manage.py", "shell", "-v", "0", "-c", source],
        cwd=ROOT, env=os.environ | state | {"DATABASE_URL": os.environ["APP_DATABASE_URL"]},
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    assert answer.stdout.strip().endswith("200")


def send(queue: str, var: Path, note: Path, seconds: float) -> None:
    """Queue the slow task as the service would."""
    app = Celery("sender", set_as_current=False)
    app.config_from_object(broker_settings(queue, var), namespace="CELERY")
    app.send_task("probe.slow", kwargs={"note": str(note), "seconds": seconds})
    app.close()


def test_work_of_a_worker_that_was_killed_is_done_by_the_next(queue, start_worker, tmp_path):
    """Visibility 4 s and a sweep every 10 s: the second worker must begin again within about 15 s."""
    note = tmp_path / "note"
    first = start_worker("tests.stack.probe")
    send(queue, tmp_path, note, 2.0)
    assert wait_for(lambda: note.exists() and note.read_text().startswith("begun"), 10)
    kill_group(first)
    assert note.read_text().count("done") == 0
    start_worker("tests.stack.probe")
    assert wait_for(lambda: "done" in note.read_text(), 30), note.read_text()
    assert note.read_text().count("begun") == 2


def test_a_worker_asked_to_stop_finishes_what_it_began(queue, start_worker, tmp_path):
    note = tmp_path / "note"
    worker = start_worker("tests.stack.probe")
    send(queue, tmp_path, note, 2.0)
    assert wait_for(lambda: note.exists() and note.read_text().startswith("begun"), 10)
    worker.send_signal(signal.SIGTERM)
    assert worker.wait(timeout=20) == 0
    assert note.read_text().splitlines()[-1] == "done"
