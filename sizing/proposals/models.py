"""Designs of a household's treatment, as asked and as answered."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.db.models.functions import Length
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel


class CatalogueCopy(TenantModel):
    """The products a design could choose from, prices and all, kept once for all designs asked with the same."""

    digest = models.CharField(max_length=64, editable=False)
    products = models.JSONField()
    made_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        abstract = False
        constraints = [models.UniqueConstraint(fields=["dealer", "digest"], name="catalogue_copy_once")]

    def __str__(self) -> str:
        return self.digest[:12]


class Proposal(TenantModel):
    """One run of the engine: the whole request and outcome (``engine.storage``), with both versions.

    The products of the request stand in ``catalogue``, shared with other designs; designs made before there were
    copies carry them in the request itself.
    """

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="proposals")
    number = models.PositiveSmallIntegerField()
    request = models.JSONField()
    catalogue = models.ForeignKey(
        CatalogueCopy, on_delete=models.PROTECT, related_name="proposals", null=True, blank=True
    )
    outcome = models.JSONField()
    unit_system = models.CharField(max_length=8)
    engine_version = models.CharField(max_length=16)
    figures_version = models.CharField(max_length=16)
    searched = models.PositiveIntegerField(default=0)
    seconds = models.FloatField(default=0)
    made_by = models.CharField(max_length=120)
    made_at = models.DateTimeField()

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["-number"]
        constraints = [models.UniqueConstraint(fields=["dealer", "site", "number"], name="proposal_number_once")]

    def __str__(self) -> str:
        return f"design {self.number}"


class ProposedTrain(TenantModel):
    """One alternative of a proposal. ``data`` is the engine's Train.

    The engine's own alternatives never change. One worked on by hand is a row of its own: ``began_from`` the letter
    it was copied from, ``steps`` what was done to it (who, when, what, and the line before), ``breaks`` every limit
    it does not keep, place by place; a line that breaks any is looked at, never quoted. ``origin`` is one id for a
    line through all designs it is carried into.
    """

    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="trains")
    letter = models.CharField(max_length=2)
    name = models.CharField(max_length=80)
    own_name = models.CharField(max_length=60, blank=True, help_text=_("what people call it, if they named it"))
    data = models.JSONField()
    first_cost = models.DecimalField(max_digits=12, decimal_places=2)
    whole_life_cost = models.DecimalField(max_digits=12, decimal_places=2)
    upkeep_hours_year = models.FloatField()
    confidence = models.JSONField(default=dict, blank=True, help_text=_("the engine's Confidence, its telling rows"))
    pinned = models.BooleanField(default=False, help_text=_("kept as it is, and carried into the next design"))
    by_hand = models.BooleanField(default=False)
    began_from = models.CharField(max_length=2, blank=True)
    origin = models.UUIDField(null=True, blank=True, editable=False)
    breaks = models.JSONField(default=list, blank=True)
    steps = models.JSONField(default=list, blank=True)
    version = models.PositiveIntegerField(default=0, help_text=_("counts every change, so that two hands do not mix"))
    quoted = models.BooleanField(default=False, help_text=_("a quote stands on it, so it changes no more"))
    made_by = models.CharField(max_length=120, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)
    deleted_by = models.CharField(max_length=120, blank=True)
    deleted_at = models.DateTimeField(null=True, blank=True)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = [Length("letter"), "letter"]
        constraints = [
            models.UniqueConstraint(fields=["dealer", "proposal", "letter"], name="train_letter_once"),
            models.CheckConstraint(
                condition=Q(by_hand=False) | Q(made_at__isnull=False), name="train_by_hand_is_dated"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.letter}. {self.shown_name}"

    @property
    def shown_name(self) -> str:
        """Its own name, else the engine's."""
        return self.own_name or self.name

    @property
    def fixed(self) -> bool:
        """Whether it stays as it is, so that work on it begins a new line."""
        return not self.by_hand or self.pinned or self.quoted

    @property
    def passes(self) -> bool:
        """Whether it keeps every limit."""
        return not self.breaks


class ProposedStage(TenantModel):
    """One stage of an alternative, with the catalogue item it stands for."""

    train = models.ForeignKey(ProposedTrain, on_delete=models.CASCADE, related_name="stages")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=16)
    item = models.ForeignKey("sizing.CatalogueItem", on_delete=models.PROTECT, related_name="+")
    at = models.CharField(max_length=8, default="main")
    count = models.PositiveSmallIntegerField(default=1)

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["dealer", "train", "position"], name="proposed_stage_once")]
