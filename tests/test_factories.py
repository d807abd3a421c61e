"""Every factory makes a valid row of the right dealer."""

from __future__ import annotations

import inspect
from typing import Any

import pytest

from customers.tenancy.scope import dealer_scope
from tests import factories

MADE = [
    kind
    for _name, kind in inspect.getmembers(factories, inspect.isclass)
    if issubclass(kind, factories.TenantFactory) and kind is not factories.TenantFactory
]


@pytest.mark.parametrize("kind", MADE, ids=lambda kind: kind.__name__)
def test_each_factory_writes_one_row_of_one_dealer(db: None, kind: Any) -> None:
    row = kind()
    with dealer_scope(row.dealer):
        kept = type(row).objects.get(pk=row.pk)
        assert kept.dealer_id == row.dealer_id
        for field in row._meta.concrete_fields:
            parent = getattr(row, field.name, None) if field.is_relation else None
            assert getattr(parent, "dealer_id", row.dealer_id) == row.dealer_id, field.name


def test_results_of_a_water_test_are_in_its_dealer(site: Any) -> None:
    made = factories.WaterTestFactory(site=site, results={"iron": 0.4, "e_coli": "absent"})
    assert {r.analyte: (r.qualifier, r.value) for r in made.results.all()} == {
        "iron": ("equal", 0.4),
        "e_coli": ("absent", None),
    }
