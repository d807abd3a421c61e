"""The base of every table that belongs to a dealer."""

from __future__ import annotations

import uuid
from typing import Any, ClassVar

from django.db import models

from customers.tenancy.managers import TenantManager, guard


class TenantModel(models.Model):
    """A row of one dealer: scoped manager, write guard, public id.

    ``readable_by_own_user`` marks the few tables (membership, household access) whose rows a
    signed-in user may read before the dealer is known; their row policy says so too.
    """

    dealer = models.ForeignKey("customers.Dealer", on_delete=models.PROTECT, related_name="+", editable=False)
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    objects = TenantManager()

    readable_by_own_user: ClassVar[bool] = False

    class Meta:
        abstract = True
        base_manager_name = "objects"
        default_manager_name = "objects"

    def save_base(self, *args: Any, **kwargs: Any) -> None:
        """Write, after checking whose row this is."""
        if not kwargs.get("raw"):
            guard(self)
        super().save_base(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Delete, after checking whose row this is."""
        guard(self)
        return super().delete(*args, **kwargs)
