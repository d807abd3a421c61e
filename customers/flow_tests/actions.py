"""Taking in a flow test."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from customers.dealers.queries import id_from, today_at
from customers.flow_tests.models import FlowMethod, FlowRun, FlowTest
from customers.flow_tests.queries import measure
from customers.households.actions import add_log
from customers.households.models import Site
from sizing.engine import supply
from sizing.engine.errors import EngineError
from sizing.engine.worksheet import Worksheet

MOST_L_MIN = 1000.0
MOST_RUNS = 12
EARLIEST = date(1970, 1, 1)


class FlowRefused(ValueError):
    """A flow test was not saved; ``errors``: field ("tested_on", "runs.0.seconds", ...) -> sentence."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        self.errors = dict(errors)
        super().__init__(" ".join(self.errors.values()))


@transaction.atomic
def record_flow_test(
    *,
    site: Site,
    actor_name: str,
    now: datetime,
    tested_on: date,
    tested_by: str,
    method: str,
    runs: Sequence[tuple[float, float]],
    cut_in_kpa: float | None = None,
    cut_out_kpa: float | None = None,
    note: str = "",
    form_token: UUID | str | None = None,
) -> FlowTest:
    """Store a flow test with its runs of (litres, seconds), the result, its uncertainty and the calculation.

    Pressures in kPa; 1 to 12 runs. The same ``form_token`` (of a form or a tablet) twice gives the test made
    first. Raises ``FlowRefused`` naming each field, its value and what would do; nothing is saved then.
    """
    made_id = id_from(site.dealer, form_token) if form_token else None
    if made_id and (earlier := FlowTest.objects.filter(public_id=made_id, site=site).first()):
        return earlier
    if method not in FlowMethod.values:
        message = _("method is %(method)s, accepted is %(all)s")
        raise FlowRefused({"method": message % {"method": method, "all": ", ".join(FlowMethod.values)}})
    if not 1 <= len(runs) <= MOST_RUNS:
        message = _("runs: %(n)s given, accepted is 1 to %(most)s")
        raise FlowRefused({"runs": message % {"n": len(runs), "most": MOST_RUNS}})
    try:
        result = measure(method, runs)
    except EngineError as refused:
        raise FlowRefused({"runs": str(refused)}) from refused
    if not 0 < result.flow_l_min <= MOST_L_MIN:
        message = _("flow comes to %(flow).4g L/min, accepted is at most %(most)g L/min: look at litres and seconds")
        raise FlowRefused({"runs": message % {"flow": result.flow_l_min, "most": MOST_L_MIN}})
    test = FlowTest(
        dealer_id=site.dealer_id,
        site=site,
        method=method,
        tested_on=tested_on,
        tested_by=tested_by,
        cut_in_kpa=cut_in_kpa,
        cut_out_kpa=cut_out_kpa,
        flow_l_min=result.flow_l_min,
        sd_l_min=result.sd_l_min,
        worksheet=sheet_of(result, method).as_data(),
        note=note,
        entered_by=actor_name,
        entered_at=now,
    )
    if made_id:
        test.public_id = made_id
    rows = [
        FlowRun(dealer_id=site.dealer_id, test=test, position=at, litres=litres, seconds=seconds)
        for at, (litres, seconds) in enumerate(runs, start=1)
    ]
    if errors := {**_test_errors(test, site, now), **_run_errors(rows)}:
        raise FlowRefused(errors)
    test.save()
    FlowRun.objects.bulk_create(rows)
    what = _("flow test: %(flow).1f ± %(sd).1f L/min") % {"flow": test.flow_l_min, "sd": test.sd_l_min}
    add_log(site=site, who=actor_name, what=what, at=now)
    return test


def sheet_of(result: supply.FlowTest, method: str) -> Worksheet:
    """The calculation of a result, ready to store or to show."""
    return Worksheet().with_section(str(FlowMethod(method).label), result.steps)


def _test_errors(test: FlowTest, site: Site, now: datetime) -> dict[str, str]:
    errors: dict[str, str] = {}
    try:
        test.full_clean(exclude=["site", "worksheet"], validate_constraints=False)
    except ValidationError as refused:
        errors = {name: " ".join(told) for name, told in refused.message_dict.items()}
    if test.cut_in_kpa and test.cut_out_kpa and test.cut_out_kpa <= test.cut_in_kpa:
        message = _("cut-out is %(out)g kPa, accepted is more than the cut-in of %(in)g kPa")
        errors["cut_out_kpa"] = message % {"out": test.cut_out_kpa, "in": test.cut_in_kpa}
    today = today_at(site.dealer, now)
    if not EARLIEST <= test.tested_on <= today:
        message = _("day of the test is %(day)s, accepted is a day from %(first)s to %(today)s")
        days = {"day": test.tested_on.isoformat(), "first": EARLIEST.isoformat(), "today": today.isoformat()}
        errors["tested_on"] = message % days
    return errors


def _run_errors(rows: Sequence[FlowRun]) -> dict[str, str]:
    errors: dict[str, str] = {}
    for at, row in enumerate(rows):
        try:
            row.full_clean(exclude=["test"], validate_constraints=False)
        except ValidationError as refused:
            for name, told in refused.message_dict.items():
                errors[f"runs.{at}.{name}"] = f"{getattr(row, name)}: {' '.join(told)}"
    return errors
