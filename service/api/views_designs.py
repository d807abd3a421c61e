"""Designs: asking the engine, reading its answer and its calculation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from customers.flow_tests.queries import latest_flow
from customers.households.models import Site
from customers.households.queries import site_for
from service.api.base import ApiView, Asked, Refused, page_of, query, read, wrong
from service.api.shapes import (
    FindingShape,
    MissingEvidenceRefusal,
    PageQuery,
    WorksheetShape,
    described,
    page_shape,
)
from sizing.engine.errors import EngineError, MissingEvidence, OutsideValidRange, UnreadableValue
from sizing.engine.units import parse_result
from sizing.engine.water import ANALYTES
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import Wishes, missing_evidence, raw_water
from sizing.proposals.goals import default_wishes
from sizing.proposals.models import Proposal, ProposedTrain
from sizing.proposals.queries import outcome_value, proposal_for, standing, train_for, train_value


class GoalIn(Asked):
    """An upper limit wanted."""

    place = serializers.ChoiceField(["entry", "tap"])
    analyte = serializers.ChoiceField(sorted(ANALYTES))
    at_most = serializers.FloatField(min_value=0)
    unit = serializers.CharField(max_length=40, allow_blank=True, help_text="of at_most, as on a laboratory's paper")


class DesignIn(Asked):
    """What to ask of the engine beside the household's evidence; everything left out is as usual."""

    goals = GoalIn(many=True, required=False, help_text="replace the usual ones: limits in force, and practice")
    ph_low = serializers.FloatField(min_value=0, max_value=14, required=False, allow_null=True)
    ph_high = serializers.FloatField(min_value=0, max_value=14, required=False, allow_null=True)
    uv_dose_mj_cm2 = serializers.FloatField(min_value=0, max_value=400, required=False)
    min_fixture_kpa = serializers.FloatField(min_value=55, max_value=400, required=False)
    cost_years = serializers.IntegerField(min_value=1, max_value=40, required=False)
    outside_untreated = serializers.BooleanField(
        required=False,
        help_text="outside taps branch off ahead of the treatment; left out: as the household's file says",
    )
    soften = serializers.ChoiceField(
        ["all", "hot"], required=False, help_text="hot: the softener stands on the hot line, cold taps stay hard"
    )
    outside_litres_day = serializers.FloatField(min_value=0, max_value=20000, required=False)
    dry_tank = serializers.BooleanField(
        required=False, help_text="the pressure tank must not sweat in the room's warmest air"
    )


class StageShape(serializers.Serializer):
    """One stage of an alternative, in the order of the pipe."""

    kind = serializers.CharField()
    at = serializers.CharField(help_text="main, hot (on the hot line) or tap")
    product_code = serializers.CharField(source="product.code")
    product_name = serializers.CharField(source="product.name")
    size = serializers.CharField(source="product.size_label", allow_blank=True)
    count = serializers.IntegerField()
    reasons = serializers.ListField(child=serializers.CharField())
    loss_kpa = serializers.FloatField()
    loss_dirty_kpa = serializers.FloatField()
    settings = serializers.SerializerMethodField()

    @extend_schema_field(
        serializers.ListField(child=serializers.DictField(child=serializers.CharField(allow_blank=True)))
    )
    def get_settings(self, stage: Any) -> list[dict[str, str]]:
        """Name, value and unit of each set-up value."""
        return [{"name": s.name, "value": str(s.value), "unit": s.unit} for s in stage.settings]


class BranchShape(serializers.Serializer):
    """A line that leaves the main line."""

    code = serializers.CharField(
        help_text="outside: taps ahead of the treatment, not treated; hot: softened by itself; tap: one drinking tap"
    )
    taps = serializers.IntegerField()
    flow_l_min = serializers.FloatField()
    litres_day = serializers.FloatField()


class MarginShape(serializers.Serializer):
    """How far a value stands from the limit it keeps."""

    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    value = serializers.FloatField()
    limit = serializers.FloatField()
    unit = serializers.CharField(allow_blank=True)
    sense = serializers.CharField(help_text="max: stay below; min: stay above")
    held = serializers.BooleanField()


class TrainShape(serializers.Serializer):
    """One alternative."""

    id = serializers.UUIDField()
    letter = serializers.CharField()
    name = serializers.CharField()
    first_cost = serializers.DecimalField(12, 2)
    whole_life_cost = serializers.DecimalField(12, 2)
    currency = serializers.CharField()
    upkeep_hours_year = serializers.FloatField()
    confidence = serializers.FloatField(allow_null=True)
    by_hand = serializers.BooleanField()
    pinned = serializers.BooleanField()
    breaks = serializers.ListField(
        child=serializers.CharField(), help_text="limits not kept; such a line is not quoted"
    )
    stages = StageShape(many=True)
    branches = BranchShape(many=True)
    margins = MarginShape(many=True)
    findings = FindingShape(many=True)
    pressures_kpa = serializers.ListField(child=serializers.FloatField())


class RefusalShape(serializers.Serializer):
    """What was looked at and refused, with the numbers."""

    label = serializers.CharField()  # type: ignore[assignment]
    constraint = serializers.CharField()
    reason = serializers.CharField()


class DesignRow(serializers.ModelSerializer):
    """A design in a list."""

    id = serializers.UUIDField(source="public_id")
    household = serializers.UUIDField(source="site.public_id")

    class Meta:
        model = Proposal
        fields = ("id", "household", "number", "made_by", "made_at", "engine_version", "figures_version", "searched")


class DesignShape(DesignRow):
    """The engine's answer: alternatives, best first, or which wishes cannot be met together."""

    peak_flow_l_min = serializers.FloatField()
    design_flow_l_min = serializers.FloatField()
    daily_l = serializers.FloatField()
    conflict = serializers.ListField(child=serializers.CharField())
    relaxations = serializers.ListField(child=serializers.CharField())
    findings = FindingShape(many=True)
    refusals = RefusalShape(many=True)
    trains = TrainShape(many=True)

    class Meta(DesignRow.Meta):
        fields = (  # type: ignore[assignment]
            *DesignRow.Meta.fields,
            "peak_flow_l_min",
            "design_flow_l_min",
            "daily_l",
            "conflict",
            "relaxations",
            "findings",
            "refusals",
            "trains",
        )

    def to_representation(self, proposal: Proposal) -> dict[str, Any]:
        """The row's own columns beside what the engine said."""
        said = outcome_value(proposal)
        data: dict[str, Any] = dict(DesignRow(proposal).data)
        for name in ("peak_flow_l_min", "design_flow_l_min", "daily_l"):
            data[name] = getattr(said, name)
        data |= {"conflict": list(said.conflict), "relaxations": list(said.relaxations)}
        data["findings"] = FindingShape(said.findings, many=True).data
        data["refusals"] = RefusalShape(said.refusals, many=True).data
        data["trains"] = [train_data(row, proposal.site.dealer.currency) for row in standing(proposal)]
        return data


def train_data(row: ProposedTrain, currency: str) -> Mapping[str, Any]:
    """An alternative: the row's money beside the engine's stages."""
    value = train_value(row)
    parts = {
        name: getattr(value, name)
        for name in ("stages", "branches", "margins", "findings", "pressures_kpa", "confidence")
    }
    money = {"first_cost": row.first_cost, "whole_life_cost": row.whole_life_cost, "currency": currency}
    head = {"id": row.public_id, "letter": row.letter, "name": row.shown_name}
    head |= {"by_hand": row.by_hand, "pinned": row.pinned, "breaks": [breach["text"] for breach in row.breaks]}
    data: Mapping[str, Any] = TrainShape({**head, **money, **parts, "upkeep_hours_year": row.upkeep_hours_year}).data
    return data


def wishes_of(site: Site, sent: Mapping[str, Any]) -> Wishes:
    """What was sent over what is usual. Raises ``Refused`` naming each goal that cannot be read."""
    water, _unusable = raw_water(site)
    wishes = default_wishes(water, jurisdiction=site.dealer.jurisdiction)
    if "goals" in sent:
        entry, tap = _goals(sent["goals"])
        wishes = replace(wishes, at_entry=entry, at_tap=tap)
    renamed = {"uv_dose_mj_cm2": "uv_dose", "cost_years": "years"}
    others = {renamed.get(name, name): value for name, value in sent.items() if name != "goals"}
    return replace(wishes, **others)


def _goals(goals: list[dict[str, Any]]) -> tuple[dict[str, float], dict[str, float]]:
    """Goals at the entry and at the tap, canonical."""
    found: dict[str, dict[str, float]] = {"entry": {}, "tap": {}}
    errors = []
    for at, goal in enumerate(goals):
        try:
            meant = parse_result(f"{goal['at_most']:g}", goal["analyte"], goal["unit"]).canonical
        except EngineError as refused:
            errors.append(wrong("goals", f"{goal['at_most']:g} {goal['unit']}".strip(), refused, at))
            continue
        if meant is not None:
            found[goal["place"]][goal["analyte"]] = meant
    if errors:
        raise Refused("invalid", "Nothing was designed.", errors)
    return found["entry"], found["tap"]


class Designs(ApiView):
    """Designs of a household."""

    access = ("design.read", "design.write")

    @described(reply=page_shape(DesignRow), asked=PageQuery)
    def get(self, request: Request, site_id: UUID) -> Response:
        """Designs, newest first."""
        rows = Proposal.objects.filter(site=site_for(self.actor, site_id)).select_related("site")
        return page_of(rows, query(PageQuery, request), DesignRow)

    @described(reply=DesignShape, body=DesignIn, made=True, refusal=MissingEvidenceRefusal)
    def post(self, request: Request, site_id: UUID) -> Response:
        """Design from the newest evidence. 422 with ``missing`` names what must be measured first, and how."""
        site = site_for(self.actor, site_id)
        wishes = wishes_of(site, read(DesignIn, request.data))
        try:
            proposal = make_design(site=site, actor_name=self.actor.name, now=timezone.now(), wishes=wishes)
        except MissingEvidence as refused:
            todo = missing_evidence(site, latest_flow(site), raw_water(site)[0])
            told = [{"what": what, "how": how} for what, how in todo]
            told = told or [{"what": what, "how": str(refused)} for what in refused.missing]
            raise Refused("missing_evidence", str(refused), missing=told) from None
        except OutsideValidRange as refused:
            errors = [wrong(refused.parameter, refused.value, refused)]
            raise Refused("outside_valid_range", str(refused), errors) from None
        except UnreadableValue as refused:
            raise Refused("invalid", str(refused), [wrong(refused.field, refused.text, refused)]) from None
        return Response(DesignShape(proposal).data, status=status.HTTP_201_CREATED)


class Design(ApiView):
    """One design."""

    access = ("design.read", "design.read")

    @described(reply=DesignShape)
    def get(self, request: Request, design_id: UUID) -> Response:
        """Alternatives, or why there is none."""
        return Response(DesignShape(proposal_for(self.actor, design_id)).data)


class TrainWorksheet(ApiView):
    """The calculation of one alternative."""

    access = ("design.read", "design.read")

    @described(reply=WorksheetShape)
    def get(self, request: Request, train_id: UUID) -> Response:
        """Every formula, with its numbers, its status and its source."""
        return Response(WorksheetShape(asdict(train_value(train_for(self.actor, train_id)).worksheet)).data)
