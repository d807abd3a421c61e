"""Evidence: water tests, flow tests, symptoms. Each is taken in whole or not at all."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from customers.flow_tests.actions import FlowRefused, record_flow_test
from customers.flow_tests.models import FlowMethod, FlowRun, FlowTest
from customers.flow_tests.queries import worksheet_of
from customers.households.queries import site_for
from customers.observations.actions import ObservationRefused, Said, note_observations
from customers.observations.models import Observation, WhereSeen
from customers.observations.queries import open_observations, words_of
from customers.water_tests.actions import RefusedRows, RowIn
from customers.water_tests.models import Place, Result, SampleKind, WaterTest
from service.api.base import ApiView, Asked, Refused, page_of, query, read, token_here, wrong
from service.api.shapes import PageQuery, WorksheetShape, described, page_shape
from service.milestones.actions import take_in_water_test
from sizing.engine.water import ANALYTES

MOST_ROWS = 200
TOKEN = "the same token again gives the record made first"


class ResultIn(Asked):
    """One line as it stands on the laboratory's paper."""

    analyte = serializers.CharField(max_length=32)
    text = serializers.CharField(max_length=40, help_text='as printed: "0.4", "<0.02", "absent"')
    unit_text = serializers.CharField(max_length=40, required=False, allow_blank=True, default="")


class WaterTestIn(Asked):
    """One sample with its results."""

    kind = serializers.ChoiceField(SampleKind.choices)
    place = serializers.ChoiceField(Place.choices)
    sampled_on = serializers.DateField()
    point = serializers.CharField(max_length=2, required=False, allow_blank=True)
    sampled_by = serializers.CharField(max_length=120, required=False, allow_blank=True)
    laboratory = serializers.CharField(max_length=120, required=False, allow_blank=True)
    report_number = serializers.CharField(max_length=60, required=False, allow_blank=True)
    note = serializers.CharField(max_length=240, required=False, allow_blank=True)
    proves_install = serializers.BooleanField(required=False)
    form_token = serializers.UUIDField(required=False, help_text=TOKEN)
    rows = ResultIn(many=True)

    def validate_rows(self, rows: list[Any]) -> list[Any]:
        """No more than a laboratory's list."""
        if not 1 <= len(rows) <= MOST_ROWS:
            raise serializers.ValidationError(f"{len(rows)} rows, accepted is 1 to {MOST_ROWS}")
        return rows


class ResultShape(serializers.ModelSerializer):
    """One result: as typed, and what it means."""

    unit = serializers.SerializerMethodField(help_text="of value")

    class Meta:
        model = Result
        fields = ("analyte", "text", "unit_text", "qualifier", "value", "unit")

    def get_unit(self, row: Result) -> str:
        """The canonical unit of the analyte."""
        analyte = ANALYTES[row.analyte]
        return f"{analyte.unit} {analyte.basis}".strip()


class WaterTestShape(serializers.ModelSerializer):
    """One sample."""

    id = serializers.UUIDField(source="public_id")
    results = ResultShape(many=True)

    class Meta:
        model = WaterTest
        exclude = ("dealer", "site", "public_id", "form_token")


class WaterTests(ApiView):
    """Water tests of a household."""

    access = ("household.read", "water_test.write")

    @described(reply=page_shape(WaterTestShape), asked=PageQuery)
    def get(self, request: Request, site_id: UUID) -> Response:
        """Samples, newest first, each with its results."""
        site = site_for(self.actor, site_id)
        rows = site.water_tests.prefetch_related("results").order_by("-sampled_on", "-pk")
        return page_of(rows, query(PageQuery, request), WaterTestShape)

    @described(reply=WaterTestShape, body=WaterTestIn, made=True)
    def post(self, request: Request, site_id: UUID) -> Response:
        """Take in a sample: all rows or none. What follows (a notice, the proof of an install) follows at once."""
        site = site_for(self.actor, site_id)
        heading = read(WaterTestIn, request.data)
        rows = [RowIn(**row) for row in heading.pop("rows")]
        token = token_here(site, heading.pop("form_token", None))
        try:
            test = take_in_water_test(
                site=site,
                actor_name=self.actor.name,
                now=timezone.now(),
                heading=heading,
                rows=rows,
                form_token=token,
            )
        except RefusedRows as refused:
            errors = [wrong(name, heading.get(name), words) for name, words in refused.heading.items()]
            errors += [
                wrong("rows", f"{rows[at].text} {rows[at].unit_text}".strip(), words, at)
                for at, words in refused.rows.items()
            ]
            raise Refused("refused_rows", "Nothing was saved.", errors) from None
        return Response(WaterTestShape(test).data, status=status.HTTP_201_CREATED)


class RunIn(Asked):
    """One run of a flow test."""

    volume_l = serializers.FloatField(min_value=0.5, max_value=2000)
    duration_s = serializers.FloatField(min_value=1, max_value=7200)


class FlowTestIn(Asked):
    """A flow test as read at the place."""

    method = serializers.ChoiceField(FlowMethod.choices)
    tested_on = serializers.DateField()
    tested_by = serializers.CharField(max_length=120)
    cut_in_kpa = serializers.FloatField(min_value=50, max_value=700, required=False, allow_null=True)
    cut_out_kpa = serializers.FloatField(min_value=70, max_value=900, required=False, allow_null=True)
    note = serializers.CharField(max_length=240, required=False, allow_blank=True)
    form_token = serializers.UUIDField(required=False, help_text=TOKEN)
    runs = RunIn(many=True)


class RunShape(serializers.ModelSerializer):
    """One run."""

    volume_l = serializers.FloatField(source="litres")
    duration_s = serializers.FloatField(source="seconds")

    class Meta:
        model = FlowRun
        fields = ("position", "volume_l", "duration_s")


class FlowTestShape(serializers.ModelSerializer):
    """A flow test: the result with its standard uncertainty, and the calculation."""

    id = serializers.UUIDField(source="public_id")
    runs = RunShape(many=True)
    worksheet = serializers.SerializerMethodField()

    class Meta:
        model = FlowTest
        exclude = ("dealer", "site", "public_id")

    @extend_schema_field(WorksheetShape)
    def get_worksheet(self, test: FlowTest) -> Any:
        """The calculation."""
        return WorksheetShape(worksheet_of(test)).data


class FlowTests(ApiView):
    """Flow tests of a household."""

    access = ("household.read", "flow_test.write")

    @described(reply=page_shape(FlowTestShape), asked=PageQuery)
    def get(self, request: Request, site_id: UUID) -> Response:
        """Flow tests, newest first."""
        rows = site_for(self.actor, site_id).flow_tests.prefetch_related("runs")
        return page_of(rows, query(PageQuery, request), FlowTestShape)

    @described(reply=FlowTestShape, body=FlowTestIn, made=True)
    def post(self, request: Request, site_id: UUID) -> Response:
        """Keep a flow test: the flow is worked out here, from the runs."""
        site = site_for(self.actor, site_id)
        sent = read(FlowTestIn, request.data)
        token = token_here(site, sent.pop("form_token", None))
        runs = [(run["volume_l"], run["duration_s"]) for run in sent.pop("runs")]
        try:
            test = record_flow_test(
                site=site, actor_name=self.actor.name, now=timezone.now(), runs=runs, form_token=token, **sent
            )
        except FlowRefused as refused:
            errors = [wrong(name, sent.get(name), words) for name, words in refused.errors.items()]
            raise Refused("refused", "Nothing was saved.", errors) from None
        return Response(FlowTestShape(test).data, status=status.HTTP_201_CREATED)


class SaidIn(Asked):
    """One thing said."""

    code = serializers.CharField(max_length=40, help_text="a code of the list of symptoms")
    where = serializers.ChoiceField(WhereSeen.choices, required=False)
    words = serializers.CharField(max_length=400, required=False, allow_blank=True)
    since = serializers.CharField(max_length=80, required=False, allow_blank=True)


class SymptomsIn(Asked):
    """What was said in one call."""

    said = SaidIn(many=True)
    form_token = serializers.UUIDField(required=False, help_text=TOKEN)


class SymptomShape(serializers.ModelSerializer):
    """One thing said and not gone since."""

    id = serializers.UUIDField(source="public_id")
    symptom = serializers.SerializerMethodField()

    class Meta:
        model = Observation
        fields = ("id", "code", "symptom", "where", "words", "since", "noted_at", "noted_by", "cleared_at")

    def get_symptom(self, row: Observation) -> str:
        """The words of the code."""
        return words_of(row.code)


class Symptoms(ApiView):
    """What is said about a household's water."""

    access = ("household.read", "observation.write")

    @described(reply=page_shape(SymptomShape), asked=PageQuery)
    def get(self, request: Request, site_id: UUID) -> Response:
        """What was noted and has not gone, newest first."""
        return page_of(open_observations(site_for(self.actor, site_id)), query(PageQuery, request), SymptomShape)

    @described(reply=SymptomShape, body=SymptomsIn, made=True, many=True)
    def post(self, request: Request, site_id: UUID) -> Response:
        """Note what was said: all of it or nothing."""
        site = site_for(self.actor, site_id)
        sent = read(SymptomsIn, request.data)
        try:
            rows = note_observations(
                site=site,
                actor_name=self.actor.name,
                now=timezone.now(),
                said=[Said(**one) for one in sent["said"]],
                form_token=token_here(site, sent.get("form_token")),
            )
        except ObservationRefused as refused:
            codes = [one["code"] for one in sent["said"]]
            row = codes.index(str(refused.value)) if refused.value in codes else None
            errors = [wrong("said" if row is None else "code", refused.value, refused, row)]
            raise Refused("refused", "Nothing was saved.", errors) from None
        return Response(SymptomShape(rows, many=True).data, status=status.HTTP_201_CREATED)
