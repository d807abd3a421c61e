"""Single facts of the bench in words: raw water, the place, money, and what changed since the design was made."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.contrib.humanize.templatetags.humanize import intcomma
from django.template.defaultfilters import floatformat
from django.utils.translation import gettext as _

from customers.flow_tests.models import FlowTest
from customers.households.models import Site
from customers.water_tests.models import Result
from customers.water_tests.queries import said_in_words
from service.installs.words import day_words
from sizing.drawing.chart_values import CostBar
from sizing.engine import VERSION
from sizing.engine.design import DesignRequest, Train
from sizing.engine.display import show
from sizing.engine.figures import figures_version
from sizing.engine.water import ANALYTES
from sizing.proposals.adapters import RawReading, number_for_design
from sizing.proposals.forms import analyte_unit, shown_goal
from sizing.proposals.models import Proposal

SYMBOLS = {"USD": "$", "CAD": "$", "EUR": "€", "GBP": "£"}


def stale_words(proposal: Proposal, results: Iterable[Result], flow: FlowTest | None) -> tuple[str, ...]:
    """What came in or changed since the design was made, in words; nothing where it still stands as it was asked."""
    found = []
    newer = {row.test_id: row.test for row in results if row.test.entered_at > proposal.made_at}
    if newer:
        day = max(test.sampled_on for test in newer.values())
        found.append(_("a water test of %(day)s") % {"day": day_words(day)})
    if flow is not None and flow.entered_at > proposal.made_at:
        found.append(_("a flow test of %(day)s") % {"day": day_words(flow.tested_on)})
    if proposal.engine_version != VERSION:
        found.append(_("the engine (%(old)s to %(new)s)") % {"old": proposal.engine_version, "new": VERSION})
    if proposal.figures_version != figures_version():
        found.append(_("the figures it rests on"))
    return tuple(found)


def raw_lines(request: DesignRequest, raw: RawReading, system: str) -> tuple[tuple[str, str], ...]:
    """Raw water as it was asked with: name, value with unit; a non-detect as the paper has it."""
    found = []
    for code, analyte in ANALYTES.items():
        value = request.water.get(code)
        if value is None or code == "temperature":
            continue
        result = raw.results.get(code)
        if result is not None and result.qualifier != "equal" and number_for_design(result) == value:
            text = said_in_words(result)
        else:
            text = f"{shown_goal(code, float(value), system):g}\u00a0{analyte_unit(code, system)}".strip()
        found.append((analyte.name, text))
    return tuple(found)


def place_lines(site: Site, system: str) -> tuple[tuple[str, str], ...]:
    """What the place allows, in words."""
    sizes = [show(v, "length", system) for v in (site.wall_m, site.depth_m, site.height_m) if v]
    return (
        (_("Wall, depth, height"), " × ".join(sizes) or _("not measured")),
        (_("Drain"), (site.drain_note or _("yes")) if site.drain else _("none")),
        (_("Winter"), _("heated") if site.winter_heated else _("not heated")),
        (_("Power"), str(site.get_power_display())),
    )


def symbol_of(site: Site) -> str:
    """The sign before an amount in the dealer's currency."""
    return SYMBOLS.get(site.dealer.currency, "")


def cost_bar(name: str, train: Train, symbol: str, *, passes: bool = True) -> CostBar:
    """Whole-life cost of one line, ready to draw; a line that breaks limits says so beside its sum."""
    cost = train.cost
    parts = (cost.bought, cost.salt, cost.parts, cost.power, cost.visits)
    numbers = tuple(float(part) for part in parts)
    texts = tuple(intcomma(floatformat(part, 0)) for part in parts)
    total = f"{symbol}{intcomma(floatformat(cost.total, 0))}"
    if not passes:
        total = _("%(total)s, breaks limits") % {"total": total}
    return CostBar(name, numbers, texts, total)  # type: ignore[arg-type]


def goal_fields(form: Any) -> dict[str, list[Any]]:
    """The form's fields by block of the left column."""
    groups: dict[str, list[Any]] = {"entry": [], "tap": [], "own": []}
    for field in form.visible_fields():
        start = field.name.partition("_")[0]
        groups["entry" if start == "ph" else start if start in ("entry", "tap") else "own"].append(field)
    return groups
