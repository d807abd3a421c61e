"""The moments at which several rooms move together: each one atomic, each one harmless when it comes twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from customers.dealers.queries import today_at
from customers.households.log import add_log
from customers.households.models import Site
from customers.households.sign_in import give_access, make_sign_in_link
from customers.people.actors import Actor
from customers.people.models import User
from customers.samplings.actions import answer_draw
from customers.samplings.models import SamplingDraw
from customers.water_tests.actions import RowIn, record_water_test
from customers.water_tests.models import DrinkNotice, WaterTest
from customers.water_tests.notices import has_barrier, record_remedy, sample_of
from customers.water_tests.queries import open_notice
from service.documents.actions import make_paper
from service.documents.drafts import (
    commissioning_draft,
    install_sheet_draft,
    notice_draft,
    quote_draft,
    season_draft,
)
from service.documents.models import Paper, PaperKind
from service.documents.queries import newest_paper
from service.installs.actions import commission, install_from_quote, prove
from service.installs.queries import unproven
from service.installs.words import day_words
from service.jobs import actions as jobs
from service.jobs.models import Job, JobKind, JobState
from service.reminders.actions import tell
from service.upkeep.actions import refresh_due
from sizing.quotes.actions import QuoteNotOpen, mark_issued, record_answer
from sizing.quotes.models import Quote, QuoteAnswer, QuoteState

SETTING_UP_HOURS = 2.0  # arriving, flushing, disinfecting, showing (common practice)


@transaction.atomic
def issue_quote(*, quote: Quote, actor: Actor, now: datetime) -> Quote:
    """Issue a drafted quote: its PDF is made and kept, its hash is the quote's fingerprint, the household gets
    a message with the paper and a link that signs them in once.

    Raises the quotes' own ``QuoteNotOpen`` for a quote that is no draft or has no chosen line, and
    ``AccessRefused`` for an address that cannot sign in. Without an address the message is held for a person.
    """
    today = today_at(quote.dealer, now)
    quote.state = Quote.objects.select_for_update().values_list("state", flat=True).get(pk=quote.pk)
    if quote.state != QuoteState.DRAFTED:
        raise QuoteNotOpen(f"{quote} is {quote.get_state_display()}; only a draft is issued")
    quote.issued_at, quote.valid_until = now, today + timedelta(days=quote.valid_days)
    paper = make_paper(draft=quote_draft(quote, today), actor_name=actor.name, now=now)
    mark_issued(quote=quote, now=now, today=today, actor_name=actor.name, fingerprint=paper.sha256)
    address = quote.site.customer.email
    link = settings.PUBLIC_URL + reverse("portal-home")
    if address:
        user = give_access(site=quote.site, email=address, actor=actor, now=now)
        page = reverse("portal-quote", args=[quote.public_id])
        token = make_sign_in_link(site=quote.site, user=user, now=now, leads_to=page)
        link = settings.PUBLIC_URL + reverse("portal-link", args=[token])
    assert quote.valid_until is not None
    tell(
        site=quote.site,
        event="quote_issued",
        subject_key=f"{quote.label}-{quote.version}",
        due_on=today,
        now=now,
        context={"quote": quote, "until": day_words(quote.valid_until), "link": link},
        attachment=paper,
    )
    return quote


@transaction.atomic
def answer_quote(
    *,
    quote: Quote,
    accepted: bool,
    name: str,
    signature: str = "",
    reason: str = "",
    user: User,
    address: str | None,
    user_agent: str,
    document_hash: str,
    now: datetime,
) -> QuoteAnswer:
    """Keep the household's answer. Accepted, it makes the install, its planned job with the parts to bring, and
    the install sheet: all of it or nothing.

    Raises the quotes' own ``QuoteNotOpen``, ``WrongDocument`` and ``Unsigned``.
    """
    today = today_at(quote.dealer, now)
    answer = record_answer(
        quote=quote,
        accepted=accepted,
        name=name,
        signature=signature,
        reason=reason,
        user=user,
        address=address,
        user_agent=user_agent,
        document_hash=document_hash,
        now=now,
        today=today,
    )
    if accepted:
        install = install_from_quote(quote=quote, now=now)
        stages = list(install.stages.select_related("item"))
        job = jobs.plan_job(
            site=quote.site,
            kind=JobKind.INSTALL,
            what=f"Install {len(stages)} stage{'' if len(stages) == 1 else 's'} as in {quote.label}",
            actor_name=name,
            now=now,
            install=install,
            wanted_from=today,
            hours=min(
                SETTING_UP_HOURS + sum(s.item.install_hours * s.count if s.item else s.count for s in stages), 24.0
            ),
        )
        make_paper(draft=install_sheet_draft(install, job, today), actor_name=name, now=now)
    return answer


@transaction.atomic
def finish_job(*, job: Job, actor_name: str, now: datetime, signed_name: str, signature: str = "") -> Job:
    """Finish a job and what follows from it. An installation is commissioned: its stages are in service, their
    parts are new, their next dates stand, and its record is made; the water stays not yet proven. A barrier
    fitted, or a remedy done, starts the count of clear samples of a standing do-not-drink notice.

    Finishing twice changes nothing. Raises the jobs' ``JobUnfinished`` (with the open lines) or ``JobRefused``.
    """
    if Job.objects.filter(pk=job.pk, state=JobState.FINISHED).exists():
        job.refresh_from_db()
        return job
    today = today_at(job.dealer, now)
    jobs.finish_job(job=job, actor_name=actor_name, now=now, signed_name=signed_name, signature=signature)
    if job.kind == JobKind.INSTALL and job.install is not None:
        commission(install=job.install, on=today, actor_name=actor_name, now=now)
        make_paper(draft=commissioning_draft(job, today), actor_name=actor_name, now=now)
    _remedied(job, actor_name, now)
    refresh_due(site=job.site, today=today)
    if job.kind in (JobKind.OPENING, JobKind.CLOSING):
        make_paper(draft=season_draft(job.site, job.kind, today, job), actor_name=actor_name, now=now)
    return job


def _remedied(job: Job, actor_name: str, now: datetime) -> None:
    """Fitting a barrier, or a remedy visit, is the remedy of a standing notice: clear samples count from here."""
    fitted = job.kind == JobKind.INSTALL and has_barrier(job.site)
    notice = open_notice(job.site) if fitted or job.kind == JobKind.REMEDY else None
    if notice is not None:
        on = max(today_at(job.dealer, now), notice.because.sampled_on)
        record_remedy(site=job.site, on=on, actor_name=actor_name, now=now)


@transaction.atomic
def book_visit(*, job: Job, actor_name: str, now: datetime, tell_household: bool = True, **booking: Any) -> Job:
    """Book a job (``day``, ``start_at``, ``staff`` as the jobs' own action) and tell the household, once a day."""
    jobs.book_job(job=job, actor_name=actor_name, now=now, **booking)
    if not tell_household or job.day is None:
        return job
    tell(
        site=job.site,
        event="install_booked",
        subject_key=f"job-{job.number}",
        due_on=job.day,
        now=now,
        context={
            "day": day_words(job.day),
            "start": f"{job.start_at:%H:%M}" if job.start_at else "",
            "what": job.what,
            "crew": ", ".join(row.staff.name for row in job.crew.select_related("staff")),
        },
    )
    return job


@transaction.atomic
def take_in_water_test(
    *,
    site: Site,
    actor_name: str,
    now: datetime,
    heading: Mapping[str, Any],
    rows: Sequence[RowIn],
    form_token: UUID | str | None = None,
    draw: SamplingDraw | None = None,
) -> WaterTest:
    """Record a sample and what follows: a notice opened or lifted is said to the household at once, a clear
    laboratory sample drawn after commissioning proves the install, and the ``draw`` it answers waits no more.
    Raises ``RefusedRows``, and ``SamplingRefused`` for a draw of another place or day; nothing is kept then.
    """
    test = record_water_test(
        site=site, actor_name=actor_name, now=now, heading=heading, rows=rows, form_token=form_token
    )
    if draw is not None:
        answer_draw(draw=draw, test=test, actor_name=actor_name, now=now)
    _say_notices(site, actor_name, now)
    install, sample = unproven(site), sample_of(test)
    since = install.commissioned_on if install is not None else None
    if install is not None and since is not None and sample.on >= since and sample.clears(treated=True):
        prove(install=install, on=sample.on)
        add_log(site=site, who=actor_name, what=f"{install.label} proven, sample of {sample.on}", at=now)
    return test


def _say_notices(site: Site, actor_name: str, now: datetime) -> None:
    """Tell the household of its newest notice, opened or lifted; each is said once to each address."""
    notice = DrinkNotice.objects.filter(site=site).first()
    if notice is None:
        return
    event, due_on = "do_not_drink", notice.opened_on
    if notice.lifted_on is not None:
        event, due_on = "notice_lifted", notice.lifted_on
    readers = site.access.filter(active=True).values_list("user__email", flat=True)
    addresses = dict.fromkeys(address.lower() for address in (site.customer.email, *readers) if address)
    for number, address in enumerate(addresses or {"": None}):
        tell(
            site=site,
            event=event,
            subject_key=f"{notice.public_id}-{number}",
            due_on=due_on,
            now=now,
            to_address=address,
            context={"cause": notice.cause},
            attachment=_notice_paper(notice, actor_name, now) if notice.lifted_on is None else None,
        )


def _notice_paper(notice: DrinkNotice, actor_name: str, now: datetime) -> Paper:
    """The sheet to hang at the tap, made once for each notice."""
    found = newest_paper(notice.site, PaperKind.NOTICE, notice.public_id)
    return found or make_paper(draft=notice_draft(notice.site), actor_name=actor_name, now=now)
