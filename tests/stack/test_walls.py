"""The third wall on PostgreSQL: row policies and composite keys hold where Python's scope does not."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import pytest
from django.core.checks import ERROR
from django.db import IntegrityError, ProgrammingError, connection, transaction

from customers.households.models import Customer, Site
from customers.tenancy.audit import role_findings, table_findings
from customers.tenancy.row_security import secure, tenant_models
from customers.tenancy.scope import dealer_scope, tell_database
from customers.tenancy.unscoped import across_dealers
from service.checks import walls_stand
from tests import factories

pytestmark = [pytest.mark.stack, pytest.mark.django_db]


@pytest.fixture
def two() -> tuple[Any, Any]:
    """Two dealers with a household each."""
    first, second = factories.DealerFactory(), factories.DealerFactory()
    for dealer in (first, second):
        with dealer_scope(dealer):
            factories.SiteFactory(dealer=dealer, name=f"Place of {dealer.slug}")
    return first, second


@pytest.fixture
def as_service() -> Iterator[None]:
    """Act as the role the service connects as; it owns nothing and bypasses nothing."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL ROLE app_rt")
    yield
    if not connection.needs_rollback:
        with connection.cursor() as cursor:
            cursor.execute("RESET ROLE")


def _rows(sql: str) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall()


def test_the_audit_finds_nothing() -> None:
    assert table_findings(connection) == []


def test_the_audit_finds_a_missing_policy_a_view_and_a_lost_key() -> None:
    with connection.cursor() as cursor:
        cursor.execute("DROP POLICY dealer_rows ON customers_site")
        cursor.execute("ALTER TABLE customers_logentry NO FORCE ROW LEVEL SECURITY")
        cursor.execute("ALTER TABLE customers_sitefixture DROP CONSTRAINT customers_sitefixture_site_id_dealer")
        cursor.execute("CREATE VIEW peep AS SELECT * FROM customers_site")
    found = "\n".join(table_findings(connection))
    for name in ("customers_site:", "customers_logentry:", "customers_sitefixture:", "peep:"):
        assert name in found
    secure(connection)
    assert "customers_site:" not in "\n".join(table_findings(connection))


def test_a_database_of_an_older_version_may_be_migrated_although_tables_are_missing() -> None:
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE customers_enquirydevice CASCADE")
        assert "customers_enquirydevice: not there" in table_findings(connection)
        cursor.execute("DELETE FROM django_migrations WHERE app = 'customers' AND name >= '0008'")
    (said,) = walls_stand(None, ["default"])
    assert said.id == "tarnhouse.W001"
    assert said.level < ERROR


@pytest.mark.usefixtures("as_service")
def test_the_services_role_can_do_no_more_than_it_should() -> None:
    assert role_findings(connection) == []
    for forbidden in (
        "SET row_security = off; SELECT * FROM customers_site",
        "TRUNCATE customers_site",
        "DROP TABLE customers_site",
    ):
        with pytest.raises(ProgrammingError), transaction.atomic():
            _rows(forbidden)


@pytest.mark.parametrize("setting", [None, "", "nonsense", "-1", "1; DROP TABLE customers_site"])
@pytest.mark.usefixtures("as_service")
def test_without_a_proper_dealer_the_database_shows_nothing(two: Any, setting: str | None) -> None:
    """Fail closed: unset, empty and garbage give no rows and no error."""
    if setting is not None:
        tell_database(dealer=setting)
    for model in tenant_models():
        assert _rows(f'SELECT count(*) FROM "{model._meta.db_table}"') == [(0,)]


@pytest.mark.usefixtures("as_service")
def test_raw_sql_in_one_dealers_scope_sees_that_dealer_alone(two: Any) -> None:
    first, second = two
    with dealer_scope(first):
        assert _rows("SELECT DISTINCT dealer_id FROM customers_site") == [(first.pk,)]
        with across_dealers():
            assert {site.dealer_id for site in Site.objects.all()} == {first.pk}
        assert _rows(f"UPDATE customers_site SET name = 'x' WHERE dealer_id = {second.pk} RETURNING id") == []


def _point_at(site: Site, customer: Customer) -> None:
    Site.objects.filter(pk=site.pk).update(customer_id=customer.pk)
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


@pytest.mark.usefixtures("as_service")
def test_the_database_refuses_foreign_rows(two: Any) -> None:
    first, second = two
    with dealer_scope(second):
        foreign = Customer.objects.get()
    with dealer_scope(first), across_dealers():
        with pytest.raises(ProgrammingError, match="row-level security"), transaction.atomic():
            Customer.objects.create(dealer=second, name="planted")
        site = Site.objects.get()
        with pytest.raises(IntegrityError), transaction.atomic():
            _point_at(site, foreign)


@pytest.mark.usefixtures("as_service")
def test_a_connection_keeps_nothing_of_the_dealer_before(two: Any) -> None:
    """Alternating dealers on one connection, with blocks cut off midway."""
    for turn in range(20):
        dealer = two[turn % 2]
        with dealer_scope(dealer):
            assert _rows("SELECT DISTINCT dealer_id FROM customers_site") == [(dealer.pk,)]
        with suppress(ZeroDivisionError), dealer_scope(two[(turn + 1) % 2]):
            raise ZeroDivisionError
        assert _rows("SELECT count(*) FROM customers_site") == [(0,)]
