"""Opening, counting towards and lifting the do-not-drink notice (the rule stands in ``microbes``)."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from customers.dealers.queries import today_at
from customers.households.actions import add_log
from customers.households.models import Site
from customers.water_tests.microbes import BARRIERS, CLEARS_NEEDED, COLIFORMS, Sample, clears_in_a_row, found, said_by
from customers.water_tests.models import DrinkNotice, SampleKind, WaterTest
from sizing.engine.water import ANALYTES


class NoOpenNotice(ValueError):
    """There is no do-not-drink notice to act on."""


class RemedyRefused(ValueError):
    """A remedy's day cannot be right; the sentence names the day and what would do."""


def sample_of(test: WaterTest) -> Sample:
    """The sample as the rule sees it."""
    results = {row.analyte: (row.qualifier, row.value) for row in test.results.all() if row.analyte in COLIFORMS}
    return Sample(test.sampled_on, test.place, test.kind == SampleKind.LAB, said_by(results), test.pk)


def samples_of(site: Site) -> list[Sample]:
    """Every sample of the household that reports a coliform."""
    tests = WaterTest.objects.filter(site=site, results__analyte__in=COLIFORMS).distinct()
    return [sample_of(test) for test in tests.prefetch_related("results")]


def has_barrier(site: Site) -> bool:
    """Whether a stage that stops microbes is in service on the main line; one that was found there counts once
    nothing about it is unknown."""
    return bool(site.stages.filter(kind__in=BARRIERS, at="main", state="in_service", unknowns=[]).exists())


def is_treated(site: Site) -> bool:
    """Whether any stage treats the water there now (agreed ones do not yet)."""
    return bool(site.stages.filter(state__in=["in_service", "laid_up"]).exists())


def cause_of(test: WaterTest) -> str:
    """What was found, as reported: "E. coli 4 per 100 mL, drinking tap, sampled 2 June 2026, Northreach"."""
    told = []
    for row in test.results.all():
        if row.analyte in COLIFORMS and found(row.qualifier, row.value):
            told.append(f"{ANALYTES[row.analyte].name} {row.text} {row.unit_text}".strip())
    day = date_format(test.sampled_on, "j M Y")
    told += [str(test.get_place_display()), _("sampled %(day)s") % {"day": day}]
    if test.laboratory:
        told.append(test.laboratory)
    return ", ".join(told)[:200]


def weigh(*, test: WaterTest, actor_name: str, now: datetime) -> DrinkNotice | None:
    """Take a new test into account: open the notice, start its count again, count on, or lift it.

    Returns the notice touched, if any. Call inside the transaction that stores the test.
    """
    site = test.site
    barrier, treated = has_barrier(site), is_treated(site)
    sample = sample_of(test)
    notice: DrinkNotice | None = DrinkNotice.objects.filter(site=site, lifted_on__isnull=True).first()
    if notice is None:
        if not sample.opens(barrier=barrier):
            return None
        since = clears_in_a_row(samples_of(site), sample.on, barrier=barrier, treated=treated)
        if since >= CLEARS_NEEDED:  # an old paper, typed in after the clear samples that answered it
            return None
        notice = DrinkNotice.objects.create(
            dealer_id=site.dealer_id,
            site=site,
            opened_on=today_at(site.dealer, now),
            cause=cause_of(test),
            because=test,
        )
        what = _("do-not-drink notice opened: %(cause)s") % {"cause": notice.cause}
        add_log(site=site, who=actor_name, what=what, at=now)
        return notice
    if sample.opens(barrier=barrier) and test.sampled_on >= notice.because.sampled_on:
        notice.because, notice.cause = test, cause_of(test)
        notice.save(update_fields=["because", "cause"])
    return _recount(notice, actor_name=actor_name, now=now)


def _recount(notice: DrinkNotice, *, actor_name: str, now: datetime) -> DrinkNotice:
    """Count the clear samples afresh from the whole file; lift the notice at two."""
    if notice.remedy_on is None:
        return notice
    site = notice.site
    count = clears_in_a_row(samples_of(site), notice.remedy_on, barrier=has_barrier(site), treated=is_treated(site))
    if count == notice.clear_samples:
        return notice
    before, notice.clear_samples = notice.clear_samples, count
    if count >= CLEARS_NEEDED:
        notice.lifted_on = today_at(site.dealer, now)
        what = _("do-not-drink notice lifted: %(n)s clear samples in a row after the remedy") % {"n": count}
    elif count < before:
        what = _("clear samples start again: %(cause)s") % {"cause": notice.cause}
    else:
        what = _("clear sample %(n)s of %(needed)s after the remedy") % {"n": count, "needed": CLEARS_NEEDED}
    notice.save(update_fields=["clear_samples", "lifted_on"])
    add_log(site=site, who=actor_name, what=what, at=now)
    return notice


@transaction.atomic
def record_remedy(*, site: Site, on: date, actor_name: str, now: datetime) -> DrinkNotice:
    """Say that the cause was remedied on a day; clear samples count from the day after.

    Raises ``NoOpenNotice``, and ``RemedyRefused`` for a day to come or before the sample that found something.
    """
    notice = DrinkNotice.objects.filter(site=site, lifted_on__isnull=True).select_related("because").first()
    if notice is None:
        raise NoOpenNotice(_("There is no open do-not-drink notice for this household."))
    today = today_at(site.dealer, now)
    first = notice.because.sampled_on
    if not first <= on <= today:
        message = _("day of the remedy is %(on)s, accepted is a day from %(first)s to %(today)s")
        days = {"on": on.isoformat(), "first": first.isoformat(), "today": today.isoformat()}
        raise RemedyRefused(message % days)
    notice.remedy_on = on
    notice.save(update_fields=["remedy_on"])
    what = _("remedy done on %(day)s") % {"day": date_format(on, "j M Y")}
    add_log(site=site, who=actor_name, what=what, at=now)
    return _recount(notice, actor_name=actor_name, now=now)
