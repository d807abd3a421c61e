"""Households: list, search, one file, its limits and its water path as data."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from customers.dealers.queries import today_at
from customers.households.models import Customer, Site, SiteFixture
from customers.households.queries import months_open, search_sites, site_for, sites_for, units_of
from customers.water_tests.queries import JudgedRow, open_notice, standings
from service.api.base import ApiView, page_of, query
from service.api.shapes import PageQuery, described, page_shape
from service.installs.water_path import path_of_site

MOST_FOUND = 500


class HouseholdQuery(PageQuery):
    """Which households."""

    search = serializers.CharField(
        max_length=80,
        required=False,
        default="",
        allow_blank=True,
        help_text="name, road, phone, file or serial number",
    )


class CustomerShape(serializers.ModelSerializer):
    """Whose water it is."""

    class Meta:
        model = Customer
        fields = ("name", "email", "phone", "second_phone", "postal_address", "language")


class FixtureShape(serializers.ModelSerializer):
    """How many of one fixture."""

    class Meta:
        model = SiteFixture
        fields = ("code", "count")


class HouseholdRow(serializers.ModelSerializer):
    """A household in a list."""

    id = serializers.UUIDField(source="public_id")
    customer = serializers.CharField(source="customer.name")

    class Meta:
        model = Site
        fields = ("id", "file_number", "name", "customer", "road", "source", "latitude", "longitude")


class NoticeShape(serializers.Serializer):
    """A do-not-drink notice that stands."""

    opened_on = serializers.DateField()
    cause = serializers.CharField()
    remedy_on = serializers.DateField(allow_null=True)
    clear_samples = serializers.IntegerField()


class HouseholdShape(serializers.ModelSerializer):
    """A household file. Lengths in m, pressures in kPa, volumes in L, flows in L/min, as the names say."""

    id = serializers.UUIDField(source="public_id")
    customer = CustomerShape()
    fixtures = FixtureShape(many=True)
    unit_system = serializers.SerializerMethodField(help_text="in which the household reads: metric or us")
    months_open = serializers.SerializerMethodField(help_text="months of the year it is used, 1 to 12")
    do_not_drink = serializers.SerializerMethodField(help_text="the notice that stands, or null")

    class Meta:
        model = Site
        exclude = ("dealer", "public_id", "units")

    def get_unit_system(self, site: Site) -> str:
        """Its own choice, else the dealer's."""
        return units_of(site)

    def get_months_open(self, site: Site) -> list[int]:
        """Months in which the place is used."""
        return list(months_open(site))

    @extend_schema_field(NoticeShape(allow_null=True))
    def get_do_not_drink(self, site: Site) -> Any:
        """The notice that stands."""
        notice = open_notice(site)
        return NoticeShape(notice).data if notice else None


class HouseholdList(ApiView):
    """Households of the dealer."""

    access = ("household.list", "household.list")

    @described(reply=page_shape(HouseholdRow), asked=HouseholdQuery, one=False, name="households_list")
    def get(self, request: Request) -> Response:
        """Households by name, or those that match every word of ``search``, best first."""
        asked = query(HouseholdQuery, request)
        if asked["search"].strip():
            return page_of(search_sites(self.actor, asked["search"], limit=MOST_FOUND), asked, HouseholdRow)
        return page_of(sites_for(self.actor).order_by("name", "pk"), asked, HouseholdRow)


class Household(ApiView):
    """One household file."""

    access = ("household.read", "household.write")

    @described(reply=HouseholdShape)
    def get(self, request: Request, site_id: UUID) -> Response:
        """The file as it stands."""
        return Response(HouseholdShape(site_for(self.actor, site_id)).data)


class LimitShape(serializers.Serializer):
    """One limit of the dealer's authority."""

    name = serializers.CharField()
    authority = serializers.CharField()
    kind = serializers.CharField(help_text="health, aesthetic or operational")
    sense = serializers.CharField(help_text="max or min")
    value = serializers.FloatField(help_text="in unit")
    unit = serializers.CharField(allow_blank=True)
    printed = serializers.CharField(help_text="as the authority prints it")
    source = serializers.CharField()  # type: ignore[assignment]


class JudgedResult(serializers.Serializer):
    """The result that is judged."""

    water_test = serializers.UUIDField(source="test.public_id")
    sampled_on = serializers.DateField(source="test.sampled_on")
    place = serializers.CharField(source="test.place")
    text = serializers.CharField(help_text="as typed")
    unit_text = serializers.CharField(allow_blank=True, help_text="as typed")
    qualifier = serializers.CharField(help_text="equal, below, above, absent or present")
    value = serializers.FloatField(allow_null=True, help_text="canonical: in the unit of the limit")


class StandingShape(serializers.Serializer):
    """One limit and how the household's water stands to it. Nothing here says that water may be drunk."""

    analyte = serializers.CharField()
    name = serializers.CharField()
    verdict = serializers.CharField(help_text="met, not met, not tested, cannot tell, out of date")
    words = serializers.SerializerMethodField()
    limit = LimitShape()
    result = JudgedResult(allow_null=True)

    def get_words(self, row: JudgedRow) -> str:
        """The verdict as a sentence."""
        return row.standing.words if row.standing else ""


class Limits(ApiView):
    """Limits against the newest results."""

    access = ("household.read", "household.read")

    @described(reply=StandingShape, many=True)
    def get(self, request: Request, site_id: UUID) -> Response:
        """Every limit in force, health and worst first; what was not tested is there too, as "not tested"."""
        site = site_for(self.actor, site_id)
        rows = standings(site, today_at(site.dealer, timezone.now()))
        return Response(StandingShape([row for row in rows if row.limit], many=True).data)


class PathSourceShape(serializers.Serializer):
    """Where the water comes from."""

    kind = serializers.CharField()
    name = serializers.CharField()
    detail = serializers.CharField(allow_blank=True)


class PathStageShape(serializers.Serializer):
    """One stage, in the order of the pipe; units at one tap last."""

    number = serializers.IntegerField()
    kind = serializers.CharField()
    name = serializers.CharField()
    state = serializers.CharField(help_text="service, soon, overdue, laid, unproven or proposed")
    date = serializers.CharField(allow_blank=True)
    part = serializers.CharField(allow_blank=True)
    count = serializers.IntegerField()
    tap = serializers.BooleanField(help_text="at one tap, not on the main line")


class PathReadingShape(serializers.Serializer):
    """One value of water, in the unit of its row."""

    row = serializers.CharField()
    text = serializers.CharField()
    measured = serializers.BooleanField(help_text="false: expected by calculation")
    standing = serializers.CharField(help_text="none, within, aesthetic, health or unknown")


class PathPointShape(serializers.Serializer):
    """Water between two stages."""

    letter = serializers.CharField()
    day = serializers.CharField(allow_blank=True)
    readings = PathReadingShape(many=True)


class PathRowShape(serializers.Serializer):
    """A parameter followed along the path."""

    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    unit = serializers.CharField(allow_blank=True)
    limit = serializers.CharField(allow_blank=True)


class PathShape(serializers.Serializer):
    """The water path: the same facts as every drawing of it, in the household's units."""

    title = serializers.CharField()
    notice = serializers.CharField(allow_blank=True)
    source = PathSourceShape()  # type: ignore[assignment]
    stages = PathStageShape(many=True)
    points = PathPointShape(many=True)
    tap_point = PathPointShape(allow_null=True)
    rows = PathRowShape(many=True)


class Path(ApiView):
    """The water path."""

    access = ("household.read", "household.read")

    @described(reply=PathShape)
    def get(self, request: Request, site_id: UUID) -> Response:
        """Source, stages in order with their state and next date, and the water at each point."""
        site = site_for(self.actor, site_id)
        path = path_of_site(site, today_at(site.dealer, timezone.now()))
        return Response(PathShape(asdict(path)).data)
