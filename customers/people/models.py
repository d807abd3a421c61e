"""Users and staff."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models
from django.utils.translation import gettext_lazy as _

from customers.tenancy.models import TenantModel


class PersonManager(UserManager["User"]):
    """Makes users known by e-mail alone."""

    def create_user(self, email: str, password: str | None = None, **extra: Any) -> User:  # type: ignore[override]
        """A user; without a password they can only sign in by mailed code or link."""
        user = self.model(email=self.normalize_email(email).lower(), **extra)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(self, email: str, password: str | None = None, **extra: Any) -> User:  # type: ignore[override]
        """An operator of the platform (not a dealer's user)."""
        return self.create_user(email, password, is_staff=True, is_superuser=True, **extra)


class User(AbstractUser):
    """Someone who can sign in. What they belong to is in ``Staff`` or in a household's access rows."""

    username = None  # type: ignore[assignment]
    email = models.EmailField(_("e-mail"), unique=True)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    objects = PersonManager()  # type: ignore[misc]

    def __str__(self) -> str:
        return self.get_full_name() or self.email


class Role(models.TextChoices):
    """Roles. ``CUSTOMER`` is never stored on staff; it is the role of a household's own people."""

    OWNER = "owner", _("owner")
    OFFICE = "office", _("office")
    TECHNICIAN = "technician", _("technician")


class Staff(TenantModel):
    """A user's place in a dealer's staff."""

    readable_by_own_user = True

    user = models.OneToOneField(User, on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=12, choices=Role.choices)
    name = models.CharField(max_length=80)
    phone = models.CharField(max_length=40, blank=True)
    active = models.BooleanField(default=True)

    class Meta(TenantModel.Meta):
        abstract = False
        verbose_name_plural = "staff"
        indexes = [models.Index(fields=["dealer", "role"], name="staff_by_role")]

    def __str__(self) -> str:
        return self.name
