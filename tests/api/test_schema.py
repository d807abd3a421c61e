"""The API does what its schema says, for input nobody would think of."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.conf import settings
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.urls import get_resolver
from hypothesis import HealthCheck, Phase, given, seed
from hypothesis import settings as bounds
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from service.wsgi import application

EXAMPLES = 3
CHECKS = (not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance)


@pytest.fixture
def told(office_client: Any) -> dict[str, Any]:
    """The schema as the API serves it."""
    answer = office_client.get("/api/v1/schema/", {"format": "json"})
    assert answer.status_code == 200
    found: dict[str, Any] = json.loads(answer.content)
    return found


@pytest.fixture
def kept_connection(told: dict[str, Any], busy: Any) -> Iterator[None]:
    """Called as an application, each request would close the test's own connection.

    Django's client spares it too, and hangs the signals up again after its own calls, so this comes after those.
    """
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


def test_the_schema_names_every_address(told: dict[str, Any]) -> None:
    patterns = [p for p in get_resolver("service.api.urls").url_patterns if p.name != "api-schema"]
    assert len(told["paths"]) == len(patterns)
    assert set(told["components"]["securitySchemes"]) == {"session"}


def test_numbers_carry_their_unit_in_the_name(told: dict[str, Any]) -> None:
    shapes = told["components"]["schemas"]
    assert {"cut_in_kpa", "tank_volume_l", "well_depth_m"} <= shapes["HouseholdShape"]["properties"].keys()
    assert {"flow_l_min", "sd_l_min"} <= shapes["FlowTestShape"]["properties"].keys()


@pytest.mark.usefixtures("kept_connection")
def test_answers_keep_to_the_schema(told: dict[str, Any], busy: Any, office_client: Any) -> None:
    """A few made-up calls for each method: no server error, no undocumented status, no reply of another shape."""
    schema = schemathesis.openapi.from_dict(told)
    schema.app = application
    ids = {
        "site_id": busy.site,
        "design_id": busy.train.proposal,
        "train_id": busy.train,
        "quote_id": busy.quote,
        "job_id": busy.job,
        "task_id": busy.reading,
    }
    cookies = {settings.SESSION_COOKIE_NAME: office_client.cookies[settings.SESSION_COOKIE_NAME].value}
    tried = 0
    for found in schema.get_all_operations():
        operation = found.ok()

        @seed(1)
        @bounds(
            max_examples=EXAMPLES,
            deadline=None,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy())
        def call(case: Any) -> None:
            nonlocal tried
            for name in case.path_parameters or {}:
                case.path_parameters[name] = str(ids[name].public_id)
            answer = case.call(cookies=cookies, headers={"X-CSRFToken": "x" * 32, "Origin": "http://testserver"})
            case.validate_response(answer, checks=list(CHECKS))
            tried += 1

        call()
    assert tried >= len(told["paths"]) * 2
