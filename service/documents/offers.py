"""Which papers can be made of a household now, and the draft of each. A quote's paper is made by issuing it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import partial
from uuid import UUID

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.people.actors import Actor
from customers.samplings.queries import samplings_of
from customers.water_tests.queries import open_notice
from service.documents import drafts
from service.documents.actions import PaperDraft, make_paper
from service.documents.models import Paper, PaperKind
from service.documents.queries import newest_paper
from service.documents.sampling_drafts import SAMPLING_PAPERS, sampling_draft
from service.installs.models import Install
from service.installs.queries import current_stages
from service.jobs.models import Job, JobKind, JobState
from sizing.proposals.models import ProposedTrain

SAME_PRESS = timedelta(seconds=20)  # a second press of the button within this is the first one again
MOST_OF_A_KIND = 4


class NotOffered(ValueError):
    """A paper that cannot be made of this household; names what was asked and what is offered."""


@dataclass(frozen=True)
class Offer:
    """A paper that can be made: its kind, the row it is about, words for the button."""

    kind: PaperKind
    about: UUID
    words: str
    draft: Callable[[], PaperDraft] = field(repr=False, compare=False)


def offers_of(site: Site, today: date) -> list[Offer]:
    """Every paper that can be made of the household as it stands."""
    offers = [*_of_installs(site, today), *_of_designs(site, today)]
    if current_stages(site).exists():
        for season, kind, words in (
            ("opening", PaperKind.OPENING, _("Opening sheet")),
            ("closing", PaperKind.CLOSING, _("Closing sheet")),
        ):
            offers.append(Offer(kind, site.public_id, words, _season(site, season, today)))
        offers.append(
            Offer(PaperKind.LABELS, site.public_id, _("Equipment labels"), lambda: drafts.labels_draft(site, today))
        )
    report = _("Water report")
    offers.append(
        Offer(PaperKind.WATER_REPORT, site.public_id, report, lambda: drafts.water_report_draft(site, today))
    )
    offers += _of_samplings(site)
    notice = open_notice(site)
    if notice is not None:
        words = _("Do-not-drink notice to hang up")
        offers.append(Offer(PaperKind.NOTICE, notice.public_id, words, lambda: drafts.notice_draft(site)))
    return offers


def _season(site: Site, season: str, today: date) -> Callable[[], PaperDraft]:
    return lambda: drafts.season_draft(site, season, today)


def _of_installs(site: Site, today: date) -> list[Offer]:
    offers = []
    for install in Install.objects.filter(site=site).order_by("-number")[:MOST_OF_A_KIND]:
        job = Job.objects.filter(install=install, kind=JobKind.INSTALL).order_by("-pk").first()
        words = _("Install sheet %(number)s") % {"number": install.label}
        offers.append(Offer(PaperKind.INSTALL_SHEET, install.public_id, words, _install(install, job, today)))
        if job is not None and job.state == JobState.FINISHED:
            words = _("Commissioning record, %(number)s") % {"number": install.label}
            offers.append(Offer(PaperKind.COMMISSIONING, job.public_id, words, _commissioning(job, today)))
    return offers


def _install(install: Install, job: Job | None, today: date) -> Callable[[], PaperDraft]:
    return lambda: drafts.install_sheet_draft(install, job, today)


def _commissioning(job: Job, today: date) -> Callable[[], PaperDraft]:
    return lambda: drafts.commissioning_draft(job, today)


def _of_designs(site: Site, today: date) -> list[Offer]:
    """Worksheets of the alternatives that were quoted, and of the newest design."""
    quoted = set(site.quotes.exclude(train=None).values_list("train_id", flat=True))
    newest = site.proposals.order_by("-number").values_list("pk", flat=True).first()
    trains = ProposedTrain.objects.filter(proposal__site=site, deleted_at=None)
    trains = trains.select_related("proposal__site__customer")
    chosen = [row for row in trains.order_by("-proposal__number", "letter") if row.pk in quoted]
    chosen += [
        row for row in trains.filter(proposal=newest).order_by("letter") if row.pk not in quoted and row.passes
    ]
    offers = []
    for train in chosen[:MOST_OF_A_KIND]:
        words = _("Worksheet of design %(n)s%(letter)s") % {"n": train.proposal.number, "letter": train.letter}
        offers.append(Offer(PaperKind.WORKSHEET, train.public_id, words, _worksheet(train, today)))
    return offers


def _worksheet(train: ProposedTrain, today: date) -> Callable[[], PaperDraft]:
    return lambda: drafts.worksheet_draft(train, today)


def _of_samplings(site: Site) -> list[Offer]:
    """Sheet and custody form of samplings on their way, and of the last one done."""
    offers = []
    for sampling in samplings_of(site)[:MOST_OF_A_KIND]:
        for kind in SAMPLING_PAPERS:
            words = f"{kind.label} {sampling.label}"
            offers.append(Offer(kind, sampling.public_id, words, partial(sampling_draft, sampling, kind)))
    return offers


def make_offered(*, site: Site, kind: str, about: str, actor: Actor, now: datetime, today: date) -> Paper:
    """Make one of the offered papers; pressed twice, the first one is handed back.

    Raises ``NotOffered`` for a paper that cannot be made of this household.
    """
    offers = offers_of(site, today)
    found = next((offer for offer in offers if (offer.kind.value, str(offer.about)) == (kind, about)), None)
    if found is None:
        accepted = ", ".join(dict.fromkeys(offer.kind.value for offer in offers))
        raise NotOffered(f"paper is {kind!r} of {about!r}, accepted is one of {accepted} with its own row")
    newest = newest_paper(site, found.kind, found.about)
    if newest is not None and newest.made_by == actor.name and now - newest.made_at < SAME_PRESS:
        return newest
    return make_paper(draft=found.draft(), actor_name=actor.name, now=now)
