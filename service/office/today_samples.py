"""Lines of the day's page about samples: late ones, files that wait, and the sample that is to be planned next."""

from __future__ import annotations

from datetime import date, datetime

from django.urls import reverse
from django.utils.timezone import localtime
from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.lab_files.queries import waiting_files
from customers.samplings.models import Sampling, SamplingState
from customers.samplings.queries import late_samplings
from service.installs.words import day_words
from service.office.reasons import Line, Reason, cut


def late_samples(today: date, now: datetime) -> Reason:
    """Samplings past their day or hour: bottles not drawn, not arrived, results not in."""

    def line(row: Sampling) -> Line:
        href = reverse("sampling", args=[row.public_id])
        words = {"number": row.label, "lab": row.laboratory.name}
        if row.state == SamplingState.PLANNED:
            about = _("%(number)s was to be drawn %(day)s") % {**words, "day": day_words(row.planned_on)}
            return Line(row.site, about, _("Draw it or plan it anew"), href)
        if row.results_due_on < today:
            told = {**words, "day": day_words(row.results_due_on), "n": (today - row.results_due_on).days}
            about = _("%(number)s, results of %(lab)s were due %(day)s, %(n)s days late") % told
            if row.chased_on:
                about += ", " + _("asked %(day)s") % {"day": day_words(row.chased_on)}
            return Line(row.site, about, _("Ask the laboratory"), href)
        about = _("%(number)s is past its hour at %(lab)s, receipt not noted") % words
        return Line(row.site, about, _("Note the receipt"), href)

    return cut("samples", _("Samples and results overdue"), map(line, late_samplings(today, now)))


def waiting_lab_files() -> Reason:
    """Files of laboratories that nobody has taken in yet."""
    lines = [
        Line(
            None,
            _("%(name)s, %(lab)s, uploaded %(day)s")
            % {"name": row.name, "lab": row.laboratory.name, "day": day_words(localtime(row.uploaded_at).date())},
            _("Look through it"),
            reverse("lab-file", args=[row.public_id]),
        )
        for row in waiting_files()
    ]
    return cut("lab-files", _("Laboratory files to take in"), lines)


def clear_step(site: Site, *, planned: bool) -> tuple[str, str]:
    """The next step towards a clear sample: plan it, then enter it."""
    if planned:
        return _("Enter a clear sample"), reverse("water-test-new", args=[site.public_id])
    return _("Plan a clear sample"), reverse("sampling-new", args=[site.public_id]) + "?purpose=clear"


def proof_step(site: Site, *, planned: bool) -> tuple[str, str]:
    """The next step towards a proof: plan the sample, then enter the laboratory's result."""
    if planned:
        return _("Enter the laboratory's result"), reverse("water-test-new", args=[site.public_id])
    return _("Plan the sample"), reverse("sampling-new", args=[site.public_id]) + "?purpose=prove"
