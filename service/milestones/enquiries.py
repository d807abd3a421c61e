"""Moments of an enquiry: its questions go to the caller, its device becomes a stage; each whole or not at all."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _

from customers.dealers.queries import zone_of
from customers.enquiries.devices import note_device
from customers.enquiries.keeping import EnquiryRefused, Sayer
from customers.enquiries.links import make_link
from customers.enquiries.models import Enquiry, EnquiryLink
from customers.people.actors import Actor
from service.installs.found import record_found_stage
from service.installs.models import InstalledStage
from service.installs.words import day_words
from service.reminders.actions import tell_caller
from sizing.engine.diagnosis_tables import DiagnosisTables


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


@transaction.atomic
def file_device(
    *,
    enquiry: Enquiry,
    device: str,
    tables: DiagnosisTables,
    actor: Actor,
    now: datetime,
    thing: int = 1,
    **seen: Any,
) -> InstalledStage:
    """A device an enquiry was about, the first or another, becomes a stage of its household, found, unseen.

    ``seen`` is what ``record_found_stage`` takes beside it. Raises ``EnquiryRefused`` for a device that is not in the
    tables or an enquiry without a household, ``InstallRefused`` for one that is no stage or does not fit.
    """
    note_device(enquiry=enquiry, actor=actor, now=now, device=device, tables=tables, thing=thing)
    if enquiry.site is None:
        raise EnquiryRefused(_("%(enquiry)s is in no household's file yet") % {"enquiry": enquiry.label})
    known = tables.devices[device]
    return record_found_stage(
        site=enquiry.site,
        kind=known.stage_kind or "",
        unknowns=known.unknowns,
        actor_name=actor.name,
        now=now,
        **seen,
    )
