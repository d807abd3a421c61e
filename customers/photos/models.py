"""What every kept photograph has. A subclass says what it belongs to."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django.core.files.base import ContentFile
from django.db import models
from django.utils.translation import gettext_lazy as _

from customers.photos.taking import TakenPhoto
from customers.tenancy.models import TenantModel


class KeptPhoto(TenantModel):
    """A photograph as it was taken in: two files of our own making, kept out of reach of any address.

    Make one with ``columns_of(take_photo(upload))``; show it with ``photo_response`` behind a view that knows who
    may see what it belongs to.
    """

    file = models.FileField(upload_to="photos")
    small = models.FileField(upload_to="photos")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    words = models.CharField(max_length=240, blank=True, help_text=_("what it shows, as said by who took it"))
    kept_by = models.CharField(max_length=120)
    kept_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        abstract = True
        ordering = ["kept_at", "pk"]


def columns_of(taken: TakenPhoto) -> dict[str, Any]:
    """Columns of a new row for a picture that was taken in; the files get names of our own."""
    name = uuid4().hex
    return {
        "file": ContentFile(taken.data, name=f"{name}.jpg"),
        "small": ContentFile(taken.small, name=f"{name}-small.jpg"),
        "width": taken.width,
        "height": taken.height,
    }
