"""Designs of a household's treatment, as asked and as answered."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from customers.households.models import Site
from customers.tenancy.models import TenantModel


class Proposal(TenantModel):
    """One run of the engine: the whole request and outcome (``engine.storage``), with both versions."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="proposals")
    number = models.PositiveSmallIntegerField()
    request = models.JSONField()
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
    """One alternative of a proposal. ``data`` is the engine's Train."""

    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="trains")
    letter = models.CharField(max_length=2)
    name = models.CharField(max_length=80)
    data = models.JSONField()
    first_cost = models.DecimalField(max_digits=12, decimal_places=2)
    whole_life_cost = models.DecimalField(max_digits=12, decimal_places=2)
    upkeep_hours_year = models.FloatField()
    confidence = models.JSONField(default=dict, blank=True, help_text=_("the engine's Confidence, its telling rows"))

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["letter"]
        constraints = [models.UniqueConstraint(fields=["dealer", "proposal", "letter"], name="train_letter_once")]

    def __str__(self) -> str:
        return f"{self.letter}. {self.name}"


class ProposedStage(TenantModel):
    """One stage of an alternative, with the catalogue item it stands for."""

    train = models.ForeignKey(ProposedTrain, on_delete=models.CASCADE, related_name="stages")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=16)
    item = models.ForeignKey("sizing.CatalogueItem", on_delete=models.PROTECT, related_name="+")
    at = models.CharField(max_length=8, default="main")

    class Meta(TenantModel.Meta):
        abstract = False
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["dealer", "train", "position"], name="proposed_stage_once")]
