"""Quotes, to read."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from service.api.base import ApiView, page_of, query
from service.api.shapes import PageQuery, described, page_shape
from sizing.quotes.models import Quote, QuoteLine, QuoteState
from sizing.quotes.queries import quote_for, quotes, totals_of


class QuoteQuery(PageQuery):
    """Which quotes."""

    state = serializers.ChoiceField(QuoteState.choices, required=False)


class LineShape(serializers.ModelSerializer):
    """One line."""

    amount = serializers.DecimalField(18, 2)

    class Meta:
        model = QuoteLine
        fields = (
            "position",
            "stage_number",
            "description",
            "why",
            "quantity",
            "unit_price",
            "amount",
            "optional",
            "chosen",
        )


class TotalsShape(serializers.Serializer):
    """What it comes to, in the quote's currency; ``options`` are lines not chosen."""

    net = serializers.DecimalField(18, 2)
    tax = serializers.DecimalField(18, 2)
    total = serializers.DecimalField(18, 2)
    options = serializers.DecimalField(18, 2)


class QuoteRow(serializers.ModelSerializer):
    """A quote in a list."""

    id = serializers.UUIDField(source="public_id")
    household = serializers.UUIDField(source="site.public_id")
    number = serializers.CharField(source="label")
    totals = serializers.SerializerMethodField()

    class Meta:
        model = Quote
        fields = (
            "id",
            "household",
            "number",
            "version",
            "state",
            "title",
            "currency",
            "issued_at",
            "valid_until",
            "totals",
        )

    @extend_schema_field(TotalsShape)
    def get_totals(self, quote: Quote) -> Any:
        """Chosen lines before tax, tax, total."""
        return TotalsShape(totals_of(list(quote.lines.all()), quote.tax_rate)).data


class AnswerShape(serializers.Serializer):
    """The household's answer."""

    accepted = serializers.BooleanField()
    name = serializers.CharField()
    reason = serializers.CharField(allow_blank=True)
    answered_at = serializers.DateTimeField()
    document_hash = serializers.CharField()


class QuoteShape(QuoteRow):
    """One version of a quote."""

    lines = LineShape(many=True)
    answer = serializers.SerializerMethodField()

    class Meta(QuoteRow.Meta):
        fields = (  # type: ignore[assignment]
            *QuoteRow.Meta.fields,
            "note",
            "tax_name",
            "tax_rate",
            "valid_days",
            "fingerprint",
            "drafted_by",
            "drafted_at",
            "lines",
            "answer",
        )

    @extend_schema_field(AnswerShape(allow_null=True))
    def get_answer(self, quote: Quote) -> Any:
        """The answer, or null."""
        answer = getattr(quote, "answer", None)
        return AnswerShape(answer).data if answer else None


class QuoteList(ApiView):
    """Quotes of the dealer."""

    access = ("quote.read", "quote.write")

    @described(reply=page_shape(QuoteRow), asked=QuoteQuery, one=False, name="quotes_list")
    def get(self, request: Request) -> Response:
        """Quotes, newest first."""
        asked = query(QuoteQuery, request)
        rows = quotes().prefetch_related("lines")
        return page_of(rows.filter(state=asked["state"]) if "state" in asked else rows, asked, QuoteRow)


class QuoteDetail(ApiView):
    """One version of a quote."""

    access = ("quote.read", "quote.write")

    @described(reply=QuoteShape)
    def get(self, request: Request, quote_id: UUID) -> Response:
        """Lines, totals, terms, answer."""
        return Response(QuoteShape(quote_for(self.actor, quote_id)).data)
