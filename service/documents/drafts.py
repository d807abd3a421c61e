"""What each paper is made of."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.bar import notice_bar
from customers.water_tests.models import Place
from customers.water_tests.queries import drunk_results, judged, open_notice, rows_of, tests_of
from service.documents.actions import PaperDraft
from service.documents.labels import labels_of
from service.documents.models import PaperKind
from service.documents.rows import (
    SYMBOLS,
    bring_rows,
    cost_bar,
    cost_rows,
    pressure_of,
    sheet_stages,
    sourced,
    task_groups,
    terse,
    wear_rows,
)
from service.documents.water_rows import evidence_of, report_of
from service.installs.branches import branch_words, branches_in
from service.installs.models import Install, StageState
from service.installs.queries import standing_stages, unproven
from service.installs.water_path import path_of_install, path_of_site, path_of_train
from service.jobs.models import Job
from sizing.engine.boiling import MICROBES, boiling_advice
from sizing.engine.design import Train
from sizing.engine.findings import Finding
from sizing.engine.stages.practice_text import cautions_for, season_checklist
from sizing.proposals.models import ProposedTrain
from sizing.proposals.queries import train_value
from sizing.quotes.models import Quote
from sizing.quotes.queries import totals_of

CURRENCY_WORDS = {"USD": _("US dollars"), "CAD": _("Canadian dollars"), "EUR": _("euros"), "GBP": _("pounds")}
QUOTE_CAUTIONS = ("germs", "electric", "septic", "lifting", "cross_connection", "hot_water")
MOST_LABELS = 10  # what one sheet holds


def quote_draft(quote: Quote, today: date) -> PaperDraft:
    """The quote as the household gets it: drawing, lines with reasons, totals, options, what it rests on, living
    with it, cautions, terms, place to sign."""
    lines = list(quote.lines.all())
    train = train_value(quote.train) if quote.train else None
    kinds = [stage.kind for stage in train.stages] if train else []
    replaced = _("replaces %(version)s") % {"version": quote.replaces.version} if quote.replaces else ""
    wear, as_found = wear_rows(train, quote.site.unit_system) if train else ([], [])
    request = quote.train.proposal.request if quote.train else {}
    return PaperDraft(
        kind=PaperKind.QUOTE,
        site=quote.site,
        about=quote.public_id,
        number=quote.label,
        title=quote.title,
        version=quote.version,
        version_note=f"{quote.version}, {replaced}" if replaced else str(quote.version),
        context={
            "quote": quote,
            "lines": [line for line in lines if line.chosen or not line.optional],
            "options": [line for line in lines if line.optional and not line.chosen],
            "totals": totals_of(lines, quote.tax_rate),
            "currency": CURRENCY_WORDS.get(quote.currency, quote.currency),
            "symbol": SYMBOLS.get(quote.currency, ""),
            "path": terse(path_of_train(quote.site, train, today, most_rows=rows_for(train))) if train else None,
            "train": train,
            "branches": branch_words(train.branches, quote.site.unit_system) if train else (),
            "wear": wear,
            "as_found": as_found,
            "cost": cost_bar(train, quote.currency) if train else None,
            "cost_rows": cost_rows(train, quote.currency) if train else [],
            "years": request.get("cost", {}).get("years"),
            "evidence": evidence_of(quote.site, train, today),
            "cautions": [row for row in cautions_for(kinds) if row.code in QUOTE_CAUTIONS],
            "findings": [f for f in train.findings if f.severity == "health"] if train else [],
            "tests": list(tests_of(quote.site).filter(place=Place.RAW)[:2]),
        },
    )


def rows_for(train: Train) -> int:
    """Rows of the ledger that leave a sheet room: a path of many stages stands in two strips."""
    return 5 if sum(stage.at == "main" for stage in train.stages) <= 5 else 3


def install_sheet_draft(install: Install, job: Job | None, today: date) -> PaperDraft:
    """The sheet the crew works from."""
    rows = list(install.stages.exclude(state=StageState.RETIRED).select_related("install__quote__train"))
    stages = sheet_stages(rows)
    path = terse(path_of_install(install, today, most_rows=3))
    return PaperDraft(
        kind=PaperKind.INSTALL_SHEET,
        site=install.site,
        about=install.public_id,
        number=install.label,
        title=_("Install sheet, %(place)s") % {"place": install.site.name},
        for_customer=False,
        context={
            "install": install,
            "job": job,
            "crew": crew_of(job),
            "stages": stages,
            "branches": branch_words(branches_in(rows), install.site.unit_system),
            "bring": bring_rows(job),
            "path": path,
            "pressure": pressure_of(path, install.site.worst_fixture_min_kpa, install.site.unit_system),
            "cautions": cautions_for(row.stage.kind for row in stages),
        },
    )


def worksheet_draft(train: ProposedTrain, today: date) -> PaperDraft:
    """Every formula of one alternative, for another professional to check by hand."""
    proposal = train.proposal
    sections, sources = sourced(train_value(train).worksheet.sections)
    return PaperDraft(
        kind=PaperKind.WORKSHEET,
        site=proposal.site,
        about=train.public_id,
        number=f"D-{proposal.site.file_number}-{proposal.number}{train.letter}",
        title=_("Calculation worksheet, %(place)s") % {"place": proposal.site.name},
        for_customer=False,
        context={
            "train": train,
            "proposal": proposal,
            "sections": sections,
            "sources": sources,
            "path": terse(path_of_train(proposal.site, train, today)),
        },
    )


def commissioning_draft(job: Job, today: date) -> PaperDraft:
    """What was done, read and signed when the system was set to work."""
    return PaperDraft(
        kind=PaperKind.COMMISSIONING,
        site=job.site,
        about=job.public_id,
        number=f"J-{job.number:04d}",
        title=_("Commissioning record, %(place)s") % {"place": job.site.name},
        context={
            "job": job,
            "groups": task_groups(job),
            "several": len(set(job.tasks.exclude(done_by="").values_list("done_by", flat=True))) > 1,
            "stages": sheet_stages(standing_stages(job.site)),
            "path": path_of_site(job.site, today, most_rows=5),
            "unproven": unproven(job.site),
            "crew": crew_of(job),
        },
    )


def crew_of(job: Job | None) -> list[str]:
    """Names of who goes."""
    return [row.staff.name for row in job.crew.select_related("staff")] if job else []


def season_draft(site: Site, season: str, today: date, job: Job | None = None) -> PaperDraft:
    """Opening or closing sheet, made from the stages that are there."""
    stages = sheet_stages(standing_stages(site))
    opening = season == "opening"
    title = _("Opening sheet, %(place)s") if opening else _("Closing sheet, %(place)s")
    numbers: dict[str, list[int]] = {}
    for row in stages:
        numbers.setdefault(row.stage.kind, []).append(row.number)
    steps = season_checklist(list(numbers), season)
    return PaperDraft(
        kind=PaperKind.OPENING if opening else PaperKind.CLOSING,
        site=site,
        about=job.public_id if job else site.public_id,
        number=f"{'O' if opening else 'C'}-{site.file_number}",
        title=title % {"place": site.name},
        context={
            "job": job,
            "stages": stages,
            "steps": [(numbers.get(step.kind, []), step) for step in steps],
            "path": path_of_site(site, today, most_rows=2),
            "cautions": cautions_for(row.stage.kind for row in stages),
            "bring": bring_rows(job),
        },
    )


def water_report_draft(site: Site, today: date) -> PaperDraft:
    """Which limits were tested, when, by whom, and how they stand."""
    return PaperDraft(
        kind=PaperKind.WATER_REPORT,
        site=site,
        about=site.public_id,
        number=f"W-{site.file_number}",
        title=_("Water report, %(place)s") % {"place": site.name},
        context={
            "report": report_of(site, today),
            "path": path_of_site(site, today),
            "unproven": unproven(site),
        },
    )


def notice_draft(site: Site) -> PaperDraft:
    """The do-not-drink notice as a sheet to hang at the tap. The site must have an open notice."""
    notice = open_notice(site)
    assert notice is not None
    return PaperDraft(
        kind=PaperKind.NOTICE,
        site=site,
        about=notice.public_id,
        number=f"N-{site.file_number}",
        title=_("Do not drink the water at %(place)s") % {"place": site.name},
        context={"row": notice, "bar": notice_bar(site), "boiling": boiling_of(site)},
    )


def boiling_of(site: Site) -> Finding | None:
    """The one wording on boiling for what stands against a household's water: germs and all else past a health
    limit. ``None`` where nitrate was never tested: boiling would concentrate it, so none is advised."""
    found = drunk_results(rows_of(site))
    if "nitrate" not in found:
        return None
    newest_on = max(result.test.sampled_on for result in found.values())
    rows = judged(found, site.dealer.jurisdiction, newest_on)  # an old bad result still speaks against boiling
    health = [row.analyte for row in rows if row.exceeds and row.limit and row.limit.kind == "health"]
    germs = [code for code in health if code in MICROBES] or ["total_coliform"]
    return boiling_advice(dict.fromkeys((*germs, *health)), site.elevation_m)


def labels_draft(site: Site, today: date) -> PaperDraft:
    """Labels for the equipment: one for each stage that stands, each with the address of the household's file."""
    return PaperDraft(
        kind=PaperKind.LABELS,
        site=site,
        about=site.public_id,
        number=f"L-{site.file_number}",
        title=_("Equipment labels, %(place)s") % {"place": site.name},
        for_customer=False,
        context={"labels": labels_of(site, standing_stages(site))[:MOST_LABELS], "today": today},
    )
