"""Corrections a dealer lays over the shipped tables of causes, kept in order, never erased."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel


class Kind(models.TextChoices):
    """What a correction does; the values are the engine's."""

    CAUSE = "cause", _("own cause")
    OBSERVATION = "observation", _("own question")
    SHARE = "share", _("share set")
    LIKELIHOOD = "likelihood", _("likelihood set")
    FINISHED = "finished", _("cause confirmed")
    DEVICE = "device", _("own device")
    FEATURE = "feature", _("own feature")
    SEEN_ON = "seen_on", _("feature set")


class CauseCorrection(TenantModel):
    """One correction: who, when, why; taken back by being marked, never by being deleted.

    ``data`` is the engine's ``Correction`` as stored by ``to_data``; ``code`` and ``target`` stand beside it for
    searching. A confirmed cause says what it is ``about`` (public id of the household or enquiry, ``label`` in
    words) and belongs to the household where there is one.
    """

    kind = models.CharField(max_length=12, choices=Kind.choices)
    code = models.CharField(max_length=40)
    target = models.CharField(max_length=40, blank=True)
    data = models.JSONField(default=dict)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, null=True, blank=True, related_name="confirmed_causes")
    about = models.UUIDField(null=True, blank=True, editable=False)
    label = models.CharField(max_length=160, blank=True)
    why = models.CharField(max_length=300, blank=True)
    made_by = models.CharField(max_length=120)
    made_at = models.DateTimeField()
    undone_by = models.CharField(max_length=120, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(undone_at__isnull=True, undone_by="") | (Q(undone_at__isnull=False) & ~Q(undone_by="")),
                name="cause_correction_undone_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(undone_at__isnull=True) | Q(undone_at__gte=F("made_at")),
                name="cause_correction_made_then_undone",
            ),
            models.CheckConstraint(
                condition=Q(kind="finished", about__isnull=False)
                | (~Q(kind="finished") & Q(about__isnull=True, site__isnull=True)),
                name="cause_confirmed_about_something",
            ),
            models.UniqueConstraint(
                fields=["dealer", "about", "target"],
                condition=Q(kind="finished", undone_at__isnull=True),
                name="cause_confirmed_once_a_complaint",
            ),
            models.UniqueConstraint(
                fields=["dealer", "site", "target"],
                condition=Q(kind="finished", undone_at__isnull=True, site__isnull=False),
                name="cause_confirmed_once_a_household",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.code} {self.target}".strip()
