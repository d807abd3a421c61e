"""Traces of the clockwork: when the tick last ran."""

from __future__ import annotations

from django.db import models


class Tick(models.Model):
    """One row for each clockwork part (not a dealer's): its last beat, watched by the health page."""

    name = models.CharField(max_length=40, unique=True)
    last_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name
