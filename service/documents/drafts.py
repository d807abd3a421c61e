"""What each paper is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.bar import notice_bar
from customers.water_tests.queries import open_notice, standings, tests_of
from service.documents.actions import PaperDraft
from service.documents.models import PaperKind
from service.installs.models import Install, InstalledStage
from service.installs.queries import standing_stages, unproven
from service.installs.water_path import path_of_site, path_of_train
from service.jobs.models import Job
from sizing.engine.design import PlacedStage
from sizing.engine.stages.practice_text import (
    CommissionRow,
    InstallNotes,
    cautions_for,
    commissioning_rows,
    install_notes,
    season_checklist,
)
from sizing.engine.storage import from_data
from sizing.proposals.models import ProposedTrain
from sizing.proposals.queries import train_value
from sizing.quotes.models import Quote
from sizing.quotes.queries import totals_of

CURRENCY_WORDS = {"USD": "US dollars", "CAD": "Canadian dollars", "EUR": "euros", "GBP": "pounds"}


@dataclass(frozen=True)
class SheetStage:
    """One stage of an install sheet: the row, what it was sized as, how it is joined, what is checked."""

    number: int
    stage: InstalledStage
    planned: PlacedStage | None
    notes: InstallNotes
    checks: tuple[CommissionRow, ...]


def sheet_stages(stages: Sequence[InstalledStage]) -> list[SheetStage]:
    """Stages with their practice words, numbered as drawn."""
    ordered = sorted(stages, key=lambda stage: (stage.at != "main", stage.position))
    return [
        SheetStage(
            number=number,
            stage=stage,
            planned=from_data(PlacedStage, stage.planned) if stage.planned else None,
            notes=install_notes(stage.kind),
            checks=commissioning_rows(stage.kind),
        )
        for number, stage in enumerate(ordered, start=1)
    ]


def quote_draft(quote: Quote, today: date) -> PaperDraft:
    """The quote as the household gets it: drawing, lines with reasons, totals, terms, cautions, place to sign."""
    lines = list(quote.lines.all())
    train = train_value(quote.train) if quote.train else None
    kinds = [stage.kind for stage in train.stages] if train else []
    replaced = f", {_('replaces')} {quote.replaces.version}" if quote.replaces else ""
    return PaperDraft(
        kind=PaperKind.QUOTE,
        site=quote.site,
        about=quote.public_id,
        number=quote.label,
        title=quote.title,
        version=quote.version,
        version_note=f"{quote.version}{replaced}",
        context={
            "quote": quote,
            "lines": lines,
            "totals": totals_of(lines, quote.tax_rate),
            "currency": CURRENCY_WORDS.get(quote.currency, quote.currency),
            "path": path_of_train(quote.site, train, today) if train else None,
            "train": train,
            "cautions": cautions_for(kinds),
            "findings": [f for f in train.findings if f.severity == "health"] if train else [],
            "tests": list(tests_of(quote.site)[:4]),
        },
    )


def install_sheet_draft(install: Install, job: Job | None, today: date) -> PaperDraft:
    """The sheet the crew works from."""
    stages = sheet_stages(standing_stages(install.site))
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
            "crew": [c.staff.name for c in job.crew.select_related("staff")] if job else [],
            "stages": stages,
            "bring": list(job.bring.all()) if job else [],
            "path": path_of_site(install.site, today),
            "cautions": cautions_for(row.stage.kind for row in stages),
        },
    )


def worksheet_draft(train: ProposedTrain, today: date) -> PaperDraft:
    """Every formula of one alternative, for another professional to check by hand."""
    proposal = train.proposal
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
            "worksheet": train_value(train).worksheet,
            "path": path_of_train(proposal.site, train, today),
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
            "stages": sheet_stages(standing_stages(job.site)),
            "path": path_of_site(job.site, today),
            "unproven": unproven(job.site),
            "crew": [c.staff.name for c in job.crew.select_related("staff")],
        },
    )


def task_groups(job: Job) -> list[tuple[str, list[Any]]]:
    """A job's checklist by its groups, in order."""
    groups: dict[str, list[Any]] = {}
    for task in job.tasks.select_related("stage", "part"):
        groups.setdefault(task.group, []).append(task)
    return list(groups.items())


def season_draft(site: Site, season: str, today: date, job: Job | None = None) -> PaperDraft:
    """Opening or closing sheet, made from the stages that are there."""
    stages = sheet_stages(standing_stages(site))
    opening = season == "opening"
    title = _("Opening sheet, %(place)s") if opening else _("Closing sheet, %(place)s")
    return PaperDraft(
        kind=PaperKind.OPENING if opening else PaperKind.CLOSING,
        site=site,
        about=job.public_id if job else site.public_id,
        number=f"{'O' if opening else 'C'}-{site.file_number}",
        title=title % {"place": site.name},
        context={
            "job": job,
            "stages": stages,
            "steps": season_checklist([row.stage.kind for row in stages], season),
            "path": path_of_site(site, today),
            "cautions": cautions_for(row.stage.kind for row in stages),
            "bring": list(job.bring.all()) if job else [],
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
            "rows": standings(site, today),
            "tests": list(tests_of(site)[:8]),
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
        context={"row": notice, "bar": notice_bar(site)},
    )
