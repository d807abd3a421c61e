"""Lines of the day's page about enquiries: what came in by the mailed page, what was left half taken down."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import Q
from django.urls import reverse
from django.utils.timezone import localtime
from django.utils.translation import gettext as _

from customers.causes.queries import tables_of
from customers.dealers.models import Dealer
from customers.enquiries.models import Enquiry, EnquiryState
from customers.enquiries.queries import standing
from service.installs.words import day_words
from service.office.reasons import MOST, Line, Reason, cut
from sizing.diagnoses.reasoning import Lead, leads_of

LEFT_AFTER = timedelta(hours=1)  # ours: a call is over by then
SILENT_AFTER = timedelta(days=5)


def _page(row: Enquiry) -> str:
    return reverse("enquiry", args=[row.public_id])


def enquiries_to_read(dealer: Dealer) -> Reason:
    """Enquiries that callers have sent in and nobody has read, hazards first, then the oldest."""
    rows = Enquiry.objects.filter(state=EnquiryState.ARRIVED).select_related("site__customer", "dealer")
    waiting = list(rows.prefetch_related(standing()).order_by("arrived_at", "pk"))
    told = leads_of(waiting[: 4 * MOST], tables_of(dealer)) if waiting else []
    told.sort(key=lambda pair: pair[1].stop is None)  # the order of arrival stays within each half

    def line(row: Enquiry, lead: Lead) -> Line:
        words = lead.stop.words if lead.stop else lead.cause or _("nothing ticked, see their words")
        about = _("came in %(day)s: %(words)s") % {"day": _moment(row.arrived_at), "words": words}
        return Line(row.site, about, _("Read and call back"), _page(row), row)

    lines = [line(row, lead) for row, lead in told]
    return cut("enquiries", _("Enquiries to read"), lines, alarm=any(lead.stop for _row, lead in told))


def _moment(at: datetime | None) -> str:
    return f"{day_words(localtime(at).date())}, {localtime(at):%H:%M}" if at is not None else ""


def enquiries_to_follow(now: datetime) -> Reason:
    """Enquiries left half taken down, and callers who have not answered the mailed page."""
    left = Q(state=EnquiryState.TAKING, changed_at__lt=now - LEFT_AFTER)
    silent = Q(state=EnquiryState.AWAITED, changed_at__lt=now - SILENT_AFTER)
    rows = Enquiry.objects.filter(left | silent).select_related("site__customer").order_by("changed_at", "pk")

    def line(row: Enquiry) -> Line:
        day = _moment(row.changed_at)
        if row.state == EnquiryState.TAKING:
            about = _("half taken down %(day)s") % {"day": day}
            return Line(row.site, about, _("Finish it"), _page(row), row)
        about = _("the page was mailed %(day)s, nothing came back") % {"day": day}
        return Line(row.site, about, _("Ring them"), _page(row), row)

    return cut("enquired", _("Enquiries to follow up"), map(line, rows))
