"""What the household file shows: facts of the title block, path, evidence, system, work, papers, messages, log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import uuid4

from django.urls import reverse
from django.utils.translation import gettext as _

from customers.dealers.queries import today_at
from customers.flow_tests.models import FlowTest
from customers.flow_tests.queries import latest_flow
from customers.households.models import Site
from customers.households.queries import season_of
from customers.observations.queries import open_observations, words_of
from customers.people.actors import Actor
from customers.samplings.models import OPEN
from customers.samplings.queries import samplings_of
from customers.water_tests.bar import NoticeBar, bar_of
from customers.water_tests.queries import open_notice, rows_of, standings
from service.documents.sampling_rows import lines_of
from service.installs.lives import due_of
from service.installs.models import FittedPart, InstalledStage
from service.installs.queries import standing_stages
from service.installs.water_path import path_of_site, state_of
from service.installs.words import day_words, source_detail, source_name
from service.office.evidence import table_of
from service.office.timelines import timelines_of
from service.office.today_samples import clear_step
from service.upkeep.queries import next_visit
from sizing.engine.display import show

MOST_LINES = 8
MOST_SAMPLINGS = 4


@dataclass(frozen=True)
class PartLine:
    """One line of the system table: a stage with one of its wearing parts (or none)."""

    number: int
    first: bool
    stage: InstalledStage
    state: str
    part: FittedPart | None
    used: float | None
    used_words: str
    next_on: date | None
    ident: str


def facts_of(site: Site, flow: FlowTest | None, next_day: date | None) -> list[tuple[Any, ...]]:
    """The title block: (label, value) or (label, value, "water")."""
    system = site.unit_system
    source = ", ".join(word for word in (source_name(site), source_detail(site, system)) if word)
    season = _("all year")
    if site.seasonal:
        opens = date(2024, site.opens_month or 1, site.opens_day or 1)
        closes = date(2024, site.closes_month or 1, site.closes_day or 1)
        season = _("%(opens)s to %(closes)s") % {
            "opens": day_words(opens).removesuffix(" 2024"),
            "closes": day_words(closes).removesuffix(" 2024"),
        }
    people = f"{site.people_usual:g}"
    if site.people_peak > site.people_usual:
        people = _("%(usual)s, up to %(peak)s") % {"usual": people, "peak": f"{site.people_peak:g}"}
    access = ", ".join(str(word) for word in (site.get_access_by_display(), site.access_note) if word)
    power = str(site.get_power_display())
    if site.power_w:
        power = f"{power}, {show(site.power_w, 'power', system)}"
    return [
        (_("Source"), source),
        (_("Season"), season),
        (_("People"), people),
        (_("Access"), access[:60]),
        (_("Pump delivers"), flow_words(flow, system), "water" if flow else ""),
        (_("Power"), power),
        (_("Next visit"), day_words(next_day) if next_day else _("none planned")),
        (_("File"), site.file_number),
    ]


def flow_words(flow: FlowTest | None, system: str) -> str:
    """A measured flow with its uncertainty: "23.4 ± 0.6 L/min"."""
    if flow is None:
        return _("not measured")
    value, unit = show(flow.flow_l_min, "flow", system).rsplit("\u00a0", 1)
    spread = show(flow.sd_l_min, "flow", system).rsplit("\u00a0", 1)[0]
    return f"{value} ± {spread}\u00a0{unit}"


def bar_for(actor: Actor, site: Site) -> NoticeBar | None:
    """The do-not-drink bar with the next step the actor may take as its button."""
    notice = open_notice(site)
    if notice is None:
        return None
    bar = bar_of(notice)
    if notice.remedy_on is None and not actor.may("notice.write"):
        return bar
    if notice.remedy_on is None:
        return bar.acting(_("Record the remedy"), reverse("remedy", args=[site.public_id]))
    if not actor.may("sampling.write"):
        return bar.acting(_("Enter a clear sample"), reverse("water-test-new", args=[site.public_id]))
    planned = samplings_of(site).filter(purpose="clear", state__in=OPEN).exists()
    return bar.acting(*clear_step(site, planned=planned))


def part_lines(site: Site, today: date) -> list[PartLine]:
    """Stages of the path with their wearing parts, the life used and the next date."""
    use = season_of(site)
    stages = sorted(standing_stages(site), key=lambda stage: (stage.at != "main", stage.position))
    lines = []
    for number, stage in enumerate(stages, start=1):
        state = state_of(stage, today).value
        parts: list[FittedPart | None] = list(stage.parts.all()) or [None]
        for at, part in enumerate(parts):
            due = due_of(part, use, today) if part else None
            lines.append(
                PartLine(
                    number=number,
                    first=at == 0,
                    stage=stage,
                    state=state,
                    part=part,
                    used=due.used if due else None,
                    used_words=due.words if due else "",
                    next_on=part.next_due_on if part else None,
                    ident=f"life-{number}-{at}",
                )
            )
    return lines


def file_of(actor: Actor, site: Site, now: datetime) -> dict[str, Any]:
    """Context of the household page. The number of queries does not grow with the file."""
    today = today_at(site.dealer, now)
    results = rows_of(site)
    flow = latest_flow(site)
    visit = next_visit(site, today)
    table, others = table_of(standings(site, today, results), site.unit_system)
    newest = max((row.test.sampled_on for row in results), default=None)
    lines = part_lines(site, today)
    return {
        "site": site,
        "today": today,
        "desk": actor.may("design.read"),
        "notice": bar_for(actor, site),
        "facts": facts_of(site, flow, visit.day if visit else None),
        "path": path_of_site(site, today),
        "flow": flow,
        "samplings": lines_of(samplings_of(site)[:MOST_SAMPLINGS], today, now),
        "charts": timelines_of(site, results, today),
        "table": table,
        "not_tested": others,
        "newest_sample": newest,
        "sample_age": (today - newest).days if newest else None,
        "tests": list(dict.fromkeys(row.test for row in results))[:MOST_LINES],
        "enquiries": list(site.enquiries.all()[:MOST_LINES]) if actor.may("enquiry.read") else [],
        "form_token": uuid4(),
        "symptoms": [(row, words_of(row.code)) for row in open_observations(site)[:MOST_LINES]],
        "lines": lines,
        "stage_count": len({line.number for line in lines}),
        "visit": visit,
        "jobs": list(site.jobs.prefetch_related("crew__staff").order_by("-day", "-pk")[:MOST_LINES]),
        "quotes": list(site.quotes.order_by("-number", "-version")[:MOST_LINES]),
        "designs": list(site.proposals.order_by("-number").only("public_id", "number", "made_at", "site")[:3]),
        "papers": list(site.papers.all()[:MOST_LINES]),
        "letters": list(site.messages.all()[:MOST_LINES]),
        "log": list(site.log.all()[: MOST_LINES * 2]),
        "readers": list(site.access.filter(active=True).select_related("user")),
    }
