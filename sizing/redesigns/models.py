"""A round of designing again, and what came of each household in it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel
from sizing.proposals.models import Proposal


class Why(models.TextChoices):
    """Which households a round takes."""

    EVIDENCE = "evidence", _("new test results")
    CATALOGUE = "catalogue", _("other prices or products")
    FIGURES = "figures", _("other figures or engine")
    ALL = "all", _("every household with a design")
    CHOSEN = "chosen", _("households picked by hand")


class Redesign(TenantModel):
    """One round. It is over when no row waits or is in hand."""

    why = models.CharField(max_length=10, choices=Why.choices)
    total = models.PositiveIntegerField()
    asked_by = models.CharField(max_length=120)
    asked_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-asked_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_why_display()}, {self.asked_at:%Y-%m-%d}"


class RowState(models.TextChoices):
    """Where a household stands in a round."""

    WAITING = "waiting", _("waiting")
    TAKEN = "taken", _("in hand")
    DONE = "done", _("done")
    LEFT = "left", _("left out")


class Outcome(models.TextChoices):
    """What came of designing a household again, those that want a look first."""

    NOTHING = "nothing", _("nothing passes any more")
    TRAIN = "train", _("another train is best")
    OPENED = "opened", _("a train passes now, none did")
    MISSING = "missing", _("a test is missing")
    FAILED = "failed", _("could not be reckoned")
    COSTS = "costs", _("the same train, other costs")
    SAME = "same", _("the same")


class RedesignRow(TenantModel):
    """One household of a round: claimed by conditional update, counted by its attempts, so that a worker that lost
    its lease can write nothing any more. ``before`` and ``after`` hold the best train in short."""

    run = models.ForeignKey(Redesign, on_delete=models.CASCADE, related_name="rows")
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="+")
    state = models.CharField(max_length=8, choices=RowState.choices, default=RowState.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(max_length=8, choices=Outcome.choices, blank=True)
    before = models.JSONField(default=dict, blank=True)
    after = models.JSONField(default=dict, blank=True)
    words = models.CharField(max_length=400, blank=True)
    seconds = models.FloatField(default=0)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "run", "site"], name="redesign_site_once"),
            models.CheckConstraint(
                condition=~Q(state="done") | (Q(done_at__isnull=False) & ~Q(outcome="")), name="redesign_done_is_told"
            ),
        ]
        indexes = [models.Index(fields=["dealer", "state", "lease_until"], name="redesign_by_state")]

    def __str__(self) -> str:
        return f"{self.site}: {self.get_outcome_display() or self.get_state_display()}"
