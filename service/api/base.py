"""What every address of the API shares: who may, how input is read, how a refusal is told, how lists are paged."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, cast
from uuid import UUID, uuid5

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404
from rest_framework import exceptions, serializers, status
from rest_framework.authentication import SessionAuthentication
from rest_framework.parsers import JSONParser
from rest_framework.permissions import BasePermission
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from customers.people.actors import Actor
from customers.people.gate import acting

SAFE = ("GET", "HEAD", "OPTIONS")
LONGEST_PAGE = 200


class Refused(exceptions.APIException):
    """Input that was read but cannot be; nothing was saved. ``body`` is the answer, see ``shapes.Refusal``."""

    status_code = status.HTTP_422_UNPROCESSABLE_ENTITY

    def __init__(self, code: str, message: str, errors: Iterable[Mapping[str, Any]] = (), **more: Any) -> None:
        self.body = {"code": code, "message": message, "errors": [dict(error) for error in errors], **more}
        super().__init__(message, code)


def wrong(field: str, value: object, message: object, row: int | None = None) -> dict[str, Any]:
    """One error: which field (of which row, from 0), what was sent, and a sentence that says what would do."""
    shown = "" if value is None else str(value)[:200]
    return {"row": row, "field": field, "value": shown, "message": str(message)}


class Session(SessionAuthentication):
    """The pages' own session, with its CSRF token on unsafe methods. Nobody signed in gets 401, not 403."""

    def authenticate_header(self, request: Request) -> str:
        """What a client without a session is told."""
        return 'Session realm="api"'


class ByTable(BasePermission):
    """The role table decides, as for the pages."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Raise ``NotAuthenticated`` or ``PermissionDenied`` unless the actor may."""
        if not request.user.is_authenticated:
            raise exceptions.NotAuthenticated
        actor: Actor | None = getattr(request, "actor", None)
        if actor is None:
            raise PermissionDenied("This sign-in belongs to no active staff or household.")
        read, write = cast(ApiView, view).access
        actor.must(read if request.method in SAFE else write)
        return True


class ApiView(APIView):
    """A view of the API. ``access`` names the actions of the role table for reading and for writing."""

    access: tuple[str, str]
    authentication_classes = [Session]
    permission_classes = [ByTable]
    parser_classes = [JSONParser]

    @classmethod
    def as_view(cls, **initkwargs: Any) -> Any:
        """The view function, with its rule readable on it as on a page's."""
        view = super().as_view(**initkwargs)
        view.access = cls.access  # type: ignore[attr-defined]
        return view

    @property
    def actor(self) -> Actor:
        """Who acts."""
        return acting(self.request)

    def get_exception_handler(self) -> Callable[[Exception, dict[str, Any]], Response | None]:
        """Refusals in one shape."""
        return answer_refusal


def answer_refusal(error: Exception, context: dict[str, Any]) -> Response | None:
    """Any refusal as ``{"code", "message", "errors"}``; an unknown error stays an error (500)."""
    if isinstance(error, Refused):
        return Response(error.body, status=error.status_code)
    if isinstance(error, exceptions.ValidationError):
        errors = list(_flat(error.detail, ""))
        message = " ".join(one["message"] for one in errors[:3])
        body = {"code": "invalid", "message": message, "errors": errors}
        return Response(body, status=status.HTTP_422_UNPROCESSABLE_ENTITY)
    if isinstance(error, Http404):
        return _plain("not_found", "Not found", status.HTTP_404_NOT_FOUND)
    if isinstance(error, PermissionDenied):
        return _plain("forbidden", "Your role does not allow this.", status.HTTP_403_FORBIDDEN)
    if isinstance(error, exceptions.APIException):
        response = _plain(str(error.default_code), str(error.detail), error.status_code)
        header = getattr(error, "auth_header", None)
        if header:
            response["WWW-Authenticate"] = header
        return response
    return None


def _plain(code: str, message: str, number: int) -> Response:
    return Response({"code": code, "message": message, "errors": []}, status=number)


def _flat(detail: Any, field: str) -> Iterable[dict[str, Any]]:
    """DRF's nested errors as a flat list; a number on the way is a row."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            key = "" if name == "non_field_errors" else str(name)
            yield from _flat(inner, f"{field}.{key}".strip("."))
    elif isinstance(detail, list) and any(isinstance(item, Mapping | list) for item in detail):
        for at, inner in enumerate(detail):
            if inner:
                yield from _flat(inner, f"{field}.{at}".strip("."))
    else:
        for message in detail if isinstance(detail, list) else [detail]:
            row = next((int(part) for part in field.split(".") if part.isdecimal()), None)
            yield {"row": row, "field": field or "body", "value": "", "message": str(message)}


class Asked(serializers.Serializer):
    """Input: unknown names are refused, and every error names the value that was sent."""

    def to_internal_value(self, data: Any) -> Any:
        """Read, or raise ``ValidationError``."""
        if isinstance(data, Mapping):
            unknown = [name for name in data if name not in self.fields]
            if unknown:
                accepted = ", ".join(name for name, field in self.fields.items() if not field.read_only)
                raise serializers.ValidationError({str(n): [f"unknown; accepted is {accepted}"] for n in unknown})
        return super().to_internal_value(data)


def read(shape: type[serializers.Serializer], data: Any) -> dict[str, Any]:
    """What was asked, checked; raises ``Refused`` with every error, its field and its value."""
    reader = shape(data=data)
    if reader.is_valid():
        return cast(dict[str, Any], reader.validated_data)
    errors = [{**error, "value": _sent(data, error["field"])} for error in _flat(reader.errors, "")]
    raise Refused("invalid", " ".join(f"{e['field']}: {e['message']}" for e in errors[:3]), errors)


def _sent(data: Any, path: str) -> str:
    """The value at a dotted path of the input, as text."""
    found = data
    for part in path.split("."):
        if isinstance(found, list) and part.isdecimal() and int(part) < len(found):
            found = found[int(part)]
        elif isinstance(found, Mapping):
            found = found.get(part)
    return "" if found is None or isinstance(found, Mapping | list) else str(found)[:200]


def query(shape: type[serializers.Serializer], request: Request) -> dict[str, Any]:
    """The query string, checked as strictly as a body."""
    return read(shape, request.query_params.dict())


def token_here(site: Any, token: UUID | None) -> UUID | None:
    """A caller's token made the household's own: the same call twice is one record, and no id can be taken
    that somebody else's record has."""
    return uuid5(site.public_id, str(token)) if token else None


def page_of(
    rows: QuerySet[Any] | list[Any], asked: Mapping[str, Any], shape: type[serializers.Serializer], **context: Any
) -> Response:
    """One page: how many there are, which these are, and the items."""
    start, most = asked["offset"], asked["limit"]
    count = len(rows) if isinstance(rows, list) else rows.count()
    items = shape(rows[start : start + most], many=True, context=context).data
    return Response({"count": count, "limit": most, "offset": start, "items": items})
