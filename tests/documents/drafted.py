"""Every kind of paper of one invented household, as its draft and as HTML."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from customers.water_tests.actions import RowIn
from service.documents import drafts
from service.documents.actions import PaperDraft, html_of
from service.documents.sampling_drafts import SAMPLING_PAPERS, sampling_draft
from service.jobs.actions import plan_job
from service.jobs.models import JobKind
from service.milestones.actions import take_in_water_test
from sizing.engine.worksheet import Section, Step, Worksheet
from tests import factories
from tests.service.factories_service import a_train, commissioned

ROWS = (
    RowIn("total_coliform", "4", "CFU/100 mL"),
    RowIn("nitrate", "0.1", "mg/L as N"),
    RowIn("iron", "<0.02", "mg/L"),
    RowIn("hardness", "240", "mg/L as CaCO3"),
)
SHEET = Worksheet(
    (
        Section(
            "Peak demand",
            (
                Step("n", "fixtures", "1 x kitchen sink, 2 x shower, per head", status="given"),
                Step("Q", "peak flow", 24.6, "L/min", "6.5 gpm x 3.7854", "a study", "published", "flow"),
            ),
            "Shown once.",
        ),
    )
)


def every_draft(site: Any, now: datetime, today: date) -> dict[str, PaperDraft]:
    """A draft of each kind, by its kind. The household stands under a do-not-drink notice."""
    from dataclasses import replace

    install = commissioned(site, on=today, train=replace(a_train(), worksheet=SHEET))
    job = plan_job(
        site=site, kind=JobKind.INSTALL, what="Install", actor_name="Maren Vik", now=now, install=install,
        wanted_from=today, hours=4.0,
    )  # fmt: skip
    for place in ("raw", "entry"):
        heading = {"kind": "lab", "place": place, "sampled_on": today, "laboratory": "Northreach Laboratory"}
        take_in_water_test(site=site, actor_name="Maren Vik", now=now, heading=heading, rows=ROWS)
    quote = install.quote
    made = [
        drafts.quote_draft(quote, today),
        drafts.install_sheet_draft(install, job, today),
        drafts.worksheet_draft(quote.train, today),
        drafts.commissioning_draft(job, today),
        drafts.season_draft(site, "opening", today),
        drafts.season_draft(site, "closing", today),
        drafts.water_report_draft(site, today),
        drafts.notice_draft(site),
        drafts.labels_draft(site, today),
    ]
    sampling = factories.SamplingFactory(
        site=site, draw={"where": "drain of the tank", "analytes": ["iron", "ph", "e_coli"]}
    )
    made += [sampling_draft(sampling, kind) for kind in SAMPLING_PAPERS]
    return {draft.kind.value: draft for draft in made}


def every_html(site: Any, now: datetime, today: date) -> dict[str, str]:
    """The HTML of each kind of paper."""
    return {kind: html_of(draft, version=1, now=now) for kind, draft in every_draft(site, now, today).items()}
