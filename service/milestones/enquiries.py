"""The moment an enquiry goes to its caller: the page of questions is made and its link mailed, or neither."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from customers.dealers.queries import zone_of
from customers.enquiries.keeping import Sayer
from customers.enquiries.links import make_link
from customers.enquiries.models import Enquiry, EnquiryLink
from service.installs.words import day_words
from service.reminders.actions import tell_caller


@transaction.atomic
def mail_questions(*, enquiry: Enquiry, by: Sayer, now: datetime, address: str) -> EnquiryLink:
    """Mail the caller the link to their page; an earlier one nobody opened stops working.

    Raises ``EnquiryRefused`` for what is no address, or for a closed enquiry.
    """
    link, token = make_link(enquiry=enquiry, by=by, now=now, address=address)
    last_day = link.expires_at.astimezone(zone_of(enquiry.dealer)).date()
    tell_caller(
        enquiry=enquiry,
        event="questions",
        subject_key=str(link.public_id),
        now=now,
        context={
            "link": settings.PUBLIC_URL + reverse("asked-link", args=[token]),
            "until": day_words(last_day),
        },
        to_address=link.to_address,
    )
    return link
