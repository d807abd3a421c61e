"""What a household's own page shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.bar import NoticeBar, notice_bar
from customers.water_tests.models import WaterTest
from customers.water_tests.queries import JudgedRow, drunk_results, judged, rows_of, said_in_words, tests_of
from service.documents.queries import papers_of
from service.installs.models import Install
from service.installs.queries import unproven, wearing_parts
from service.installs.seasons import next_closing_on, next_opening_on
from service.installs.water_path import path_of_site
from service.installs.words import day_words
from service.upkeep.queries import next_visit
from service.upkeep.visits import Visit
from sizing.drawing.values import WaterPath
from sizing.engine.limits import Verdict
from sizing.quotes.models import Quote
from sizing.quotes.queries import open_quote_of_site, totals

MOST_PAPERS = 5
SHOWN_UNTESTED = 3


@dataclass(frozen=True)
class PlainRow:
    """One result against its limit in plain words."""

    name: str
    verdict: str
    over: bool
    none: bool
    words: str


@dataclass(frozen=True)
class ToDo:
    """Something the household does itself."""

    what: str
    when: str
    how: str
    url_name: str = ""


@dataclass(frozen=True)
class OwnPage:
    """Everything on the page."""

    site: Site
    notice: NoticeBar | None
    visit: Visit | None
    crew: str
    path: WaterPath
    unproven: Install | None
    test: WaterTest | None
    rows: tuple[PlainRow, ...]
    todo: tuple[ToDo, ...]
    quote: Quote | None
    quote_total: Any
    papers: tuple[Any, ...]


def own_page(site: Site, today: date) -> OwnPage:
    """The household's page on a day: the same notice, path and next date as the office sees."""
    visit = next_visit(site, today)
    rows = rows_of(site)
    quote = open_quote_of_site(site)
    return OwnPage(
        site=site,
        notice=notice_bar(site),
        visit=visit,
        crew=crew_of(site, visit),
        path=path_of_site(site, today),
        unproven=unproven(site),
        test=tests_of(site).select_related("report").first(),
        rows=tuple(plain_rows(judged(drunk_results(rows), site.dealer.jurisdiction, today))),
        todo=todo_of(site, today),
        quote=quote,
        quote_total=totals(quote) if quote else None,
        papers=tuple(papers_of(site, for_customer=True)[:MOST_PAPERS]),
    )


def crew_of(site: Site, visit: Visit | None) -> str:
    """Who comes, for a booked visit."""
    if visit is None or visit.booked_on is None:
        return ""
    jobs = site.jobs.filter(day=visit.booked_on, state__in=["booked", "under_way"])
    names = jobs.values_list("crew__staff__name", flat=True).distinct()
    return ", ".join(name for name in names if name)


def plain_rows(rows: Sequence[JudgedRow]) -> list[PlainRow]:
    """Results in plain words, what is past a limit first; untested ones are named, not left out."""
    tested = [row for row in rows if row.result is not None and row.limit is not None]
    untested = [row for row in rows if row.result is None]
    seen: set[str] = set()
    shown = []
    for row in tested:
        key = f"{row.analyte} {row.verdict}"
        if key in seen:
            continue
        seen.add(key)
        shown.append(_plain(row))
    names = list(dict.fromkeys(row.name for row in untested))
    if names:
        listed = ", ".join(names[:SHOWN_UNTESTED])
        more = len(names) - SHOWN_UNTESTED
        words = (
            _("%(names)s and %(more)s others: without a test they are unknown, not absent.")
            if more > 0
            else _("%(names)s: without a test they are unknown, not absent.")
        )
        shown.append(PlainRow(_("Others"), _("not tested"), False, True, words % {"names": listed, "more": more}))
    return shown


def _plain(row: JudgedRow) -> PlainRow:
    assert row.result is not None
    assert row.limit is not None
    assert row.standing is not None
    kinds = {"health": _("for health"), "aesthetic": _("for taste and looks"), "operational": _("for the equipment")}
    found = _("Found %(result)s on %(day)s; the limit %(kind)s is %(limit)s (%(name)s, %(authority)s).") % {
        "result": said_in_words(row.result),
        "day": day_words(row.result.test.sampled_on),
        "kind": kinds.get(row.limit.kind, ""),
        "limit": row.limit.printed if row.limit.value else _("none"),
        "name": row.limit.name,
        "authority": row.limit.authority,
    }
    verdict = row.standing.verdict
    return PlainRow(
        row.name, verdict.value, verdict is Verdict.NOT_MET, verdict is not Verdict.MET and not row.exceeds, found
    )


def todo_of(site: Site, today: date) -> tuple[ToDo, ...]:
    """Salt and the like, and the season's days."""
    found = []
    for part in wearing_parts(site).filter(by_customer=True).exclude(next_due_on=None):
        assert part.next_due_on is not None
        when = _("by %(day)s") % {"day": day_words(part.next_due_on)}
        what = _("%(part)s for stage %(n)s") % {"part": part.name, "n": part.stage.position}
        found.append(ToDo(what, when, part.specification))
    if site.seasonal:
        for label, day in (
            (_("When do you open?"), next_opening_on(site, today)),
            (_("When do you close?"), next_closing_on(site, today)),
        ):
            if day:
                found.append(ToDo(label, day_words(day), "", "portal-season"))
    return tuple(found)
