"""Querysets that raise without a dealer's scope and never write across dealers."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Self, cast

from django.db import models
from django.db.models.sql import Query
from django_scopes import get_scope
from django_scopes.exceptions import ScopeError

from customers.tenancy.scope import current_dealer_id


class WrongDealer(ScopeError):
    """A row of one dealer was about to be written inside another dealer's scope, or outside any."""


class ClosedQuery(Query):
    """A query made outside a scope: any attempt to compile it raises."""

    def get_compiler(self, *args: Any, **kwargs: Any) -> Any:
        """Refuse."""
        raise ScopeError(f"{self.model}: a dealer's scope must be active for this query.")

    def chain(self, klass: Any = None) -> Any:
        """Stay closed, whatever kind of statement is being made of it."""
        return super().chain()


def scopes_off() -> bool:
    """Whether ``unscoped`` switched the scope off for this block."""
    return not get_scope().get("_enabled", True)


def guard(row: Any) -> None:
    """Raise ``WrongDealer`` unless the row belongs to the active dealer (or scopes are off)."""
    if scopes_off():
        return
    active = current_dealer_id()
    if active is None:
        raise WrongDealer(f"{type(row).__name__}: a dealer's scope must be active to write it.")
    if row.dealer_id != active:
        raise WrongDealer(f"{type(row).__name__} of dealer {row.dealer_id} written in scope of dealer {active}.")


class TenantQuerySet(models.QuerySet[Any]):
    """Refuses bulk writes across dealers, and everything outside a scope."""

    def _open(self) -> None:
        if isinstance(self.query, ClosedQuery):
            raise ScopeError(f"{self.model.__name__}: a dealer's scope must be active for this query.")

    def bulk_create(self, objs: Iterable[Any], *args: Any, **kwargs: Any) -> list[Any]:
        """As Django's, after guarding each row."""
        rows = list(objs)
        for row in rows:
            guard(row)
        return super().bulk_create(rows, *args, **kwargs)

    def bulk_update(self, objs: Iterable[Any], *args: Any, **kwargs: Any) -> int:
        """As Django's, after guarding each row."""
        rows = list(objs)
        for row in rows:
            guard(row)
        return super().bulk_update(rows, *args, **kwargs)

    def update(self, **kwargs: Any) -> int:
        """As Django's; moving a row to another dealer is refused."""
        self._open()
        if not scopes_off() and ({"dealer", "dealer_id"} & kwargs.keys()):
            raise WrongDealer(f"{self.model.__name__}: a row never moves to another dealer.")
        return super().update(**kwargs)

    def _update(self, values: Any) -> int:
        self._open()
        done: int = super()._update(values)  # type: ignore[misc]
        return done

    def delete(self) -> tuple[int, dict[str, int]]:
        """As Django's, inside a scope only."""
        self._open()
        return super().delete()

    def _raw_delete(self, using: str | None) -> int:
        self._open()
        return super()._raw_delete(using)

    def exists(self) -> bool:
        """As Django's, inside a scope only."""
        self._open()
        return super().exists()

    def explain(self, *, format: str | None = None, **options: Any) -> str:
        """As Django's, inside a scope only."""
        self._open()
        return super().explain(format=format, **options)

    def for_dealer(self, dealer_id: int) -> Self:
        """Rows of one dealer (used by the manager; scope is checked there)."""
        return self.filter(dealer_id=dealer_id)


class TenantManager(models.Manager.from_queryset(TenantQuerySet)):  # type: ignore[misc]
    """The default and base manager of every tenant model."""

    use_in_migrations = False

    def get_queryset(self) -> TenantQuerySet:
        """Rows of the active dealer; a closed queryset outside a scope."""
        if scopes_off():
            return cast(TenantQuerySet, super().get_queryset())
        dealer_id = current_dealer_id()
        if dealer_id is None:
            return TenantQuerySet(self.model, query=ClosedQuery(self.model), using=self._db)
        return cast(TenantQuerySet, super().get_queryset().for_dealer(dealer_id))
