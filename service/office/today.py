"""What needs a person now, grouped by reason, unsafe things first; each line has one next step."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef
from django.urls import reverse
from django.utils.translation import gettext as _

from customers.dealers.models import Dealer
from customers.households.models import Site
from customers.observations.models import Observation
from customers.observations.queries import words_of
from customers.samplings.queries import has_open_sampling
from customers.water_tests.models import DrinkNotice, Result, WaterTest
from customers.water_tests.queries import judged
from service.documents.words import typeset
from service.installs.models import Install
from service.installs.words import day_words
from service.jobs.models import Job
from service.office.reasons import Line, Reason, cut
from service.office.today_enquiries import enquiries_to_follow, enquiries_to_read
from service.office.today_samples import clear_step, late_samples, proof_step, waiting_lab_files
from service.reminders.models import Message
from service.upkeep.queries import due_visits
from service.upkeep.visits import Visit
from sizing.engine.limits import Verdict
from sizing.quotes.models import Quote

RECENT_DAYS = 30


def reasons(dealer: Dealer, today: date, now: datetime) -> list[Reason]:
    """Every group that has something in it. The number of queries is the same for one household and a thousand."""
    groups: tuple[Callable[[], Reason], ...] = (
        lambda: _notices(today),
        lambda: _past_limits(dealer, today),
        lambda: enquiries_to_read(dealer),
        lambda: late_samples(today, now),
        lambda: _late_jobs(today),
        lambda: _overdue(dealer, today),
        lambda: _unproven(),
        lambda: waiting_lab_files(),
        lambda: _messages(),
        lambda: _accepted_unbooked(),
        lambda: enquiries_to_follow(now),
        lambda: _quotes(today),
        lambda: _calls(now),
    )
    return [group for make in groups if (group := make()).lines]


def _notices(today: date) -> Reason:
    rows = DrinkNotice.objects.filter(lifted_on__isnull=True).select_related("site__customer")
    rows = rows.annotate(sampling=has_open_sampling("clear"))

    def line(notice: Any) -> Line:
        place = notice.site
        if notice.remedy_on is None:
            return Line(place, notice.cause, _("Record the remedy"), reverse("remedy", args=[place.public_id]))
        about = _("%(n)s of 2 clear samples since the remedy of %(day)s") % {
            "n": notice.clear_samples,
            "day": day_words(notice.remedy_on),
        }
        return Line(place, about, *clear_step(place, planned=notice.sampling))

    return cut("notice", _("Do not drink"), map(line, rows.order_by("opened_on", "pk")), alarm=True)


def _past_limits(dealer: Dealer, today: date) -> Reason:
    """Health limits not met in tests of the last month, coliforms apart (they open a notice)."""
    since = today - timedelta(days=RECENT_DAYS)
    rows = Result.objects.filter(test__sampled_on__gte=since).select_related("test__site__customer")
    tests: dict[WaterTest, dict[str, Result]] = {}
    for row in rows.order_by("-test__sampled_on", "-test__pk", "pk"):
        tests.setdefault(row.test, {})[row.analyte] = row
    lines, seen = [], set()
    for test, results in tests.items():
        found = [
            row.name
            for row in judged(results, dealer.jurisdiction, today)
            if row.result
            and row.limit
            and row.limit.kind == "health"
            and row.analyte not in ("e_coli", "total_coliform")
            and row.standing
            and row.standing.verdict is Verdict.NOT_MET
        ]
        if found and test.site_id not in seen:
            seen.add(test.site_id)
            about = _("%(names)s past a health limit, %(place)s, sampled %(day)s") % {
                "names": ", ".join(dict.fromkeys(found)),
                "place": test.get_place_display(),
                "day": day_words(test.sampled_on),
            }
            lines.append(Line(test.site, about, _("Read the test"), reverse("water-test", args=[test.public_id])))
    return cut("limits", _("Past a health limit"), lines, alarm=True)


def _late_jobs(today: date) -> Reason:
    rows = Job.objects.filter(state__in=["booked", "under_way"], day__lt=today).select_related("site__customer")

    def line(job: Job) -> Line:
        about = _("%(what)s, booked for %(day)s and not finished") % {
            "what": job.what,
            "day": day_words(job.day) if job.day else "",
        }
        return Line(job.site, about, _("Look at the job"), reverse("job", args=[job.public_id]))

    return cut("late", _("Visits not finished"), map(line, rows.order_by("day", "pk")))


def _overdue(dealer: Dealer, today: date) -> Reason:
    visits = [visit for visit in due_visits(dealer, today, today) if visit.booked_on is None]

    def line(visit: Visit) -> Line:
        site = visit.site
        about = _("%(what)s, due %(day)s") % {
            "what": typeset(visit.words) or _("service"),
            "day": day_words(visit.on),
        }
        return Line(site, about, _("Plan the visit"), reverse("job-new", args=[site.public_id]))

    return cut("overdue", _("Parts overdue"), map(line, visits))


def _unproven() -> Reason:
    rows = Install.objects.filter(commissioned_on__isnull=False, proven_on__isnull=True)
    rows = rows.annotate(sampling=has_open_sampling())

    def line(install: Any) -> Line:
        about = _("commissioned %(day)s, no laboratory test has proved it yet") % {
            "day": day_words(install.commissioned_on) if install.commissioned_on else ""
        }
        return Line(install.site, about, *proof_step(install.site, planned=install.sampling))

    found = rows.select_related("site__customer").order_by("commissioned_on", "pk")
    return cut("unproven", _("Not yet proven"), map(line, found))


def _messages() -> Reason:
    rows = Message.objects.filter(state__in=["failed", "dead", "held"]).select_related("site__customer", "enquiry")

    def line(message: Message) -> Line:
        about = _("%(subject)s, to %(address)s: %(state)s") % {
            "subject": message.subject,
            "address": message.to_address,
            "state": message.get_state_display(),
        }
        return Line(message.site, about, _("Look at the message"), reverse("messages"), message.enquiry)

    return cut("messages", _("Messages that did not go"), map(line, rows.order_by("queued_at", "pk")))


def _accepted_unbooked() -> Reason:
    rows = Job.objects.filter(state="planned").select_related("site__customer").order_by("wanted_from", "pk")

    def line(job: Job) -> Line:
        about = str(job.what)
        if job.wanted_from:
            about = _("%(what)s, from %(day)s") % {"what": job.what, "day": day_words(job.wanted_from)}
        return Line(job.site, about, _("Book a day"), reverse("job-book", args=[job.public_id]))

    return cut("unbooked", _("Jobs to book"), map(line, rows))


def _quotes(today: date) -> Reason:
    rows = Quote.objects.filter(state__in=["drafted", "issued"]).select_related("site__customer")

    def line(quote: Quote) -> Line:
        if quote.state == "drafted":
            about = _("%(quote)s drafted, not sent") % {"quote": quote}
            return Line(quote.site, about, _("Check and issue it"), reverse("quote", args=[quote.public_id]))
        about = _("%(quote)s waits for an answer until %(day)s") % {
            "quote": quote,
            "day": day_words(quote.valid_until) if quote.valid_until else "",
        }
        return Line(quote.site, about, _("Open the quote"), reverse("quote", args=[quote.public_id]))

    return cut("quotes", _("Quotes waiting"), map(line, rows.order_by("-state", "valid_until", "pk")))


def _calls(now: datetime) -> Reason:
    """Households that told of something in the last month, with nothing measured or planned since."""
    since = now - timedelta(days=RECENT_DAYS)
    told = Observation.objects.filter(site=OuterRef("pk"), cleared_at__isnull=True, noted_at__gte=since)
    tested = WaterTest.objects.filter(site=OuterRef("pk"), entered_at__gte=since)
    planned = Job.objects.filter(site=OuterRef("pk"), state__in=["planned", "booked", "under_way"])
    rows = (
        Site.objects.filter(Exists(told), ~Exists(tested), ~Exists(planned))
        .select_related("customer")
        .prefetch_related("observations")
        .order_by("name")
    )

    def line(site: Site) -> Line:
        words = [words_of(row.code) for row in site.observations.all() if row.cleared_at is None]
        about = "; ".join(words[:2]) + (_(" and more") if len(words) > 2 else "")
        return Line(site, about, _("Open the file"), reverse("household", args=[site.public_id]))

    return cut("calls", _("Calls to follow up"), map(line, rows))
