"""The first wall: nothing of a dealer is read or written outside its scope.

The holes tried here are those the scoping library leaves open by its own documentation and tests
(existence checks, bulk writes, the base manager, explain).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.apps import apps
from django.db.models import Count
from django_scopes.exceptions import ScopeError

from customers.households.models import Customer, Site
from customers.tenancy.managers import TenantManager, WrongDealer
from customers.tenancy.models import TenantModel
from customers.tenancy.scope import current_dealer_id, dealer_scope
from tests import factories

READS: dict[str, Callable[[], Any]] = {
    "all": lambda: list(Customer.objects.all()),
    "filter": lambda: list(Customer.objects.filter(name="x")),
    "exists": lambda: Customer.objects.exists(),
    "filtered exists": lambda: Customer.objects.filter(name="x").exists(),
    "count": lambda: Customer.objects.count(),
    "first": lambda: Customer.objects.first(),
    "get": lambda: Customer.objects.get(pk=1),
    "in_bulk": lambda: Customer.objects.in_bulk([1]),
    "values": lambda: list(Customer.objects.values("name")),
    "iterator": lambda: list(Customer.objects.all().iterator()),
    "aggregate": lambda: Customer.objects.aggregate(n=Count("pk")),
    "explain": lambda: Customer.objects.all().explain(),
    "base manager": lambda: Customer._base_manager.count(),
    "union": lambda: list(Customer.objects.all().union(Customer.objects.all())),
    "update": lambda: Customer.objects.update(name="y"),
    "filtered update": lambda: Customer.objects.filter(name="x").update(name="y"),
    "delete": lambda: Customer.objects.all().delete(),
    "raw delete": lambda: Customer.objects.all()._raw_delete("default"),
}


@pytest.mark.django_db
@pytest.mark.parametrize("name", READS)
def test_without_a_scope_every_query_raises(name: str) -> None:
    with pytest.raises(ScopeError):
        READS[name]()


@pytest.mark.django_db
def test_without_a_scope_nothing_is_written() -> None:
    dealer = factories.DealerFactory()
    with dealer_scope(dealer):
        row = Customer.objects.create(dealer=dealer, name="Ada")
    for write in (
        lambda: Customer.objects.create(dealer=dealer, name="Bo"),
        lambda: Customer.objects.bulk_create([Customer(dealer=dealer, name="Bo")]),
        lambda: Customer.objects.bulk_update([row], ["name"]),
        row.save,
        row.delete,
        row.refresh_from_db,
    ):
        with pytest.raises(ScopeError):
            write()
    with dealer_scope(dealer):
        assert list(Customer.objects.values_list("name", flat=True)) == ["Ada"]


def test_another_dealers_rows_are_neither_seen_nor_written(dealer: Any, other_dealer: Any) -> None:
    with dealer_scope(other_dealer):
        theirs = Customer.objects.create(dealer=other_dealer, name="Theirs")
    assert not Customer.objects.exists()
    assert Customer.objects.filter(pk=theirs.pk).update(name="mine") == 0
    for write in (
        theirs.save,
        theirs.delete,
        lambda: Customer.objects.create(dealer=other_dealer, name="planted"),
        lambda: Customer.objects.bulk_create([Customer(dealer=other_dealer, name="planted")]),
    ):
        with pytest.raises(WrongDealer):
            write()
    with dealer_scope(other_dealer):
        assert list(Customer.objects.values_list("name", flat=True)) == ["Theirs"]


def test_a_row_never_moves_to_another_dealer(dealer: Any, other_dealer: Any, site: Site) -> None:
    with pytest.raises(WrongDealer):
        Site.objects.filter(pk=site.pk).update(dealer=other_dealer)
    with pytest.raises(WrongDealer):
        Site.objects.filter(pk=site.pk).update(dealer_id=other_dealer.pk)


def test_a_nested_scope_gives_the_outer_one_back(dealer: Any, other_dealer: Any) -> None:
    assert current_dealer_id() == dealer.pk
    with dealer_scope(other_dealer):
        assert current_dealer_id() == other_dealer.pk
    assert current_dealer_id() == dealer.pk


def test_every_table_with_a_dealer_is_a_tenant_table() -> None:
    """A new table cannot be forgotten: whoever has a dealer column has the guarded managers too."""
    for model in apps.get_models():
        names = {field.name for field in model._meta.get_fields()}
        if "dealer" in names:
            assert issubclass(model, TenantModel), model
    for model in apps.get_models():
        if issubclass(model, TenantModel):
            assert isinstance(model._default_manager, TenantManager), model
            assert isinstance(model._base_manager, TenantManager), model
