"""Shapes every part of the API uses: refusals, pages, findings, worksheets."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers

from service.api.base import LONGEST_PAGE, Asked

BIGGEST_OFFSET = 1_000_000


class WrongField(serializers.Serializer):
    """One thing that cannot be."""

    row = serializers.IntegerField(allow_null=True, help_text="position in the list sent, from 0")
    field = serializers.CharField()
    value = serializers.CharField(allow_blank=True, help_text="what was sent")
    message = serializers.CharField(help_text="what would be accepted")


class Refusal(serializers.Serializer):
    """Why nothing was done."""

    code = serializers.CharField()
    message = serializers.CharField(allow_blank=True)
    errors = WrongField(many=True)  # type: ignore[assignment]


class Measure(serializers.Serializer):
    """One thing to measure first."""

    what = serializers.CharField()
    how = serializers.CharField()


class MissingEvidenceRefusal(Refusal):
    """Why there is no design yet: ``missing`` names what to measure and how."""

    missing = Measure(many=True, required=False)


class PageQuery(Asked):
    """Which part of a list."""

    limit = serializers.IntegerField(min_value=1, max_value=LONGEST_PAGE, default=50)
    offset = serializers.IntegerField(min_value=0, max_value=BIGGEST_OFFSET, default=0)


def page_shape(item: type[serializers.Serializer]) -> type[serializers.Serializer]:
    """The shape of one page of ``item``."""
    fields: dict[str, Any] = {
        "count": serializers.IntegerField(),
        "limit": serializers.IntegerField(),
        "offset": serializers.IntegerField(),
        "items": item(many=True),
        "__doc__": f"One page of {item.__name__}.",
        "__module__": __name__,
    }
    return type(f"{item.__name__}Page", (serializers.Serializer,), fields)


def described(
    *,
    reply: Any,
    body: type[serializers.Serializer] | None = None,
    asked: type[serializers.Serializer] | None = None,
    made: bool = False,
    one: bool = True,
    refusal: type[serializers.Serializer] = Refusal,
    many: bool = False,
    name: str | None = None,
) -> Any:
    """Describe a method in the schema: reply, input, and every refusal it may give.

    ``one``: the address names a row, so 404 is possible. ``many``: the reply is a plain
    list. ``name``: how the schema calls the method.
    """
    answer = reply(many=True) if many else reply
    responses: dict[int, Any] = {201 if made else 200: answer, 401: Refusal, 403: Refusal}
    if one:
        responses[404] = Refusal
    if body is not None:
        responses |= {400: Refusal, 415: Refusal}
    if body is not None or asked is not None:
        responses[422] = refusal
    return extend_schema(request=body, responses=responses, parameters=[asked] if asked else None, operation_id=name)


class FindingShape(serializers.Serializer):
    """A remark of the engine."""

    code = serializers.CharField()
    severity = serializers.CharField()
    message = serializers.CharField()
    what_to_do = serializers.CharField(allow_blank=True)
    subject = serializers.CharField(allow_blank=True)
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]


@extend_schema_field({"oneOf": [{"type": "number"}, {"type": "string"}]})
class NumberOrText(serializers.Field):
    """A number, or words where the calculation gives words."""

    def to_representation(self, value: Any) -> float | str:
        """As it is."""
        return value if isinstance(value, str) else float(value)


class StepShape(serializers.Serializer):
    """One line of a calculation."""

    symbol = serializers.CharField(allow_blank=True)
    meaning = serializers.CharField(allow_blank=True)
    value = NumberOrText()
    unit = serializers.CharField(allow_blank=True)
    formula = serializers.CharField(allow_blank=True)
    source = serializers.CharField(allow_blank=True)  # type: ignore[assignment]
    status = serializers.CharField()
    quantity = serializers.CharField(allow_blank=True)


class SectionShape(serializers.Serializer):
    """A group of lines."""

    title = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    steps = StepShape(many=True)


class WorksheetShape(serializers.Serializer):
    """A whole calculation, to be checked by hand."""

    sections = SectionShape(many=True)
