"""Reads of water tests: newest results, judgement against the dealer's limits, history, the notice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Count, Max, QuerySet
from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.households.queries import sites_for
from customers.people.actors import Actor
from customers.tenancy.getters import get_public
from customers.water_tests.models import DrinkNotice, LabReport, Place, Result, WaterTest
from sizing.engine.findings import Finding
from sizing.engine.limits import KINDS, Limit, Standing, Verdict, age_limits, judge, limit_set
from sizing.engine.plausibility import remarks
from sizing.engine.units import Reported, parse_result
from sizing.engine.water import ANALYTES, Water

NEWEST = ("-test__sampled_on", "-test__pk")
ACUTE = ("e_coli", "total_coliform", "nitrate", "nitrite")


def current_results(site: Site, place: Place | str | None) -> dict[str, Result]:
    """The newest result of each analyte at a place (anywhere with ``None``), each with its test."""
    return newest(rows_of(site), [place] if place else None)


def rows_of(site: Site) -> list[Result]:
    """Every result of the household, newest sample first, each with its test: one query."""
    rows = Result.objects.filter(test__site=site).select_related("test")
    return list(rows.order_by(*NEWEST))


def newest(rows: Iterable[Result], places: Sequence[Place | str] | None) -> dict[str, Result]:
    """First of each analyte in ``rows`` (newest first) drawn at one of the places."""
    found: dict[str, Result] = {}
    for row in rows:
        if places is None or row.test.place in places:
            found.setdefault(row.analyte, row)
    return found


def history(site: Site, analyte: str) -> list[Result]:
    """Every result of one analyte, oldest first, each with its test."""
    rows = Result.objects.filter(test__site=site, analyte=analyte).select_related("test")
    return list(rows.order_by("test__sampled_on", "test__pk"))


def open_notice(site: Site) -> DrinkNotice | None:
    """The do-not-drink notice that stands, if any."""
    rows = DrinkNotice.objects.filter(site=site, lifted_on__isnull=True)
    return rows.select_related("because", "site__dealer").first()


def tests_of(site: Site) -> QuerySet[WaterTest]:
    """Samples of the household, newest first, each with the number of its results (``counted``)."""
    return site.water_tests.annotate(counted=Count("results")).order_by("-sampled_on", "-pk")


def reports_of(site: Site) -> QuerySet[LabReport]:
    """Laboratory's PDFs that tests of the household name, newest sample first, each with its day (``sampled_on``)."""
    rows = LabReport.objects.filter(site=site, tests__site=site)
    return rows.annotate(sampled_on=Max("tests__sampled_on")).order_by("-sampled_on", "-pk")


def own_report_for(actor: Actor, public_id: UUID | str) -> LabReport:
    """A laboratory's PDF of a household the actor may open, as ``reports_of``; else 404."""
    rows = LabReport.objects.filter(site__in=sites_for(actor), tests__isnull=False).select_related("site")
    found: LabReport = get_public(rows.distinct(), public_id)
    return found


@dataclass(frozen=True)
class JudgedRow:
    """One analyte against one limit. ``result`` is ``None`` where it was not tested; ``limit`` where none is set."""

    analyte: str
    name: str
    result: Result | None
    limit: Limit | None
    standing: Standing | None

    @property
    def verdict(self) -> str:
        """Verdict as a word: met, not met, not tested, cannot tell, out of date; empty without a limit."""
        return self.standing.verdict.value if self.standing else ""

    @property
    def exceeds(self) -> bool:
        """Whether the limit is not met."""
        return self.standing is not None and self.standing.verdict is Verdict.NOT_MET


WORST = (Verdict.NOT_MET, Verdict.CANNOT_TELL, Verdict.OUT_OF_DATE, Verdict.MET, Verdict.NOT_TESTED)


def _order(row: JudgedRow) -> tuple[int, int, int, int]:
    verdict = row.standing.verdict if row.standing else Verdict.MET
    acute = ACUTE.index(row.analyte) if row.analyte in ACUTE else len(ACUTE)
    kind = KINDS.index(row.limit.kind) if row.limit else len(KINDS)
    return (kind, WORST.index(verdict), acute, list(ANALYTES).index(row.analyte))


def judged(results: Mapping[str, Result], jurisdiction: str, today: date) -> list[JudgedRow]:
    """Every limit of the jurisdiction against results by analyte, health and worst first; then what has no limit."""
    ages = age_limits(jurisdiction)
    rows = []
    limits = limit_set(jurisdiction)
    for limit in limits:
        result = results.get(limit.analyte)
        standing = judge(
            result.qualifier if result else None,
            result.value if result else None,
            limit,
            sampled_on=result.test.sampled_on if result else None,
            today=today,
            max_age_days=ages,
        )
        rows.append(JudgedRow(limit.analyte, ANALYTES[limit.analyte].name, result, limit, standing))
    unlimited = [code for code in results if code not in {limit.analyte for limit in limits}]
    rows += [JudgedRow(code, ANALYTES[code].name, results[code], None, None) for code in unlimited]
    return sorted(rows, key=_order)


def drunk_results(rows: Sequence[Result]) -> dict[str, Result]:
    """Newest results of the water people drink: at the tap or after treatment, else raw (its place tells)."""
    drunk = newest(rows, [Place.TAP, Place.ENTRY])
    return {**newest(rows, None), **drunk}


def standings(site: Site, today: date, rows: Sequence[Result] | None = None) -> list[JudgedRow]:
    """The household's water against the dealer's limits; ``rows`` as ``rows_of`` gives them, if at hand."""
    results = drunk_results(rows_of(site) if rows is None else rows)
    return judged(results, site.dealer.jurisdiction, today)


def standings_of_test(test: WaterTest, today: date) -> list[JudgedRow]:
    """One test against the dealer's limits; only what it tested. Its age does not matter on its own page."""
    results = {row.analyte: row for row in test.results.select_related("test")}
    rows = judged(results, test.site.dealer.jurisdiction, max(today, test.sampled_on))
    return [row for row in rows if row.result is not None]


def read_again(result: Result) -> Reported:
    """The engine's reading of a stored result, from its text as typed."""
    return parse_result(result.text, result.analyte, result.unit_text)


def remarks_on(read: Iterable[Reported]) -> tuple[Finding, ...]:
    """What is impossible or doubtful in results taken together. Non-detects carry no number and stay out."""
    values = {}
    for one in read:
        number = one.for_water
        if number is not None and one.qualifier != "below":
            values[one.analyte] = number
    return remarks(Water(values))


def said_in_words(result: Result) -> str:
    """A result as printed: "<0.02 mg/L", "absent", "7 gpg"; the text is the paper's own."""
    if result.qualifier in ("absent", "present"):
        return _("absent") if result.qualifier == "absent" else _("present")
    return f"{result.text} {result.unit_text}".strip()
