"""An enquiry finds its household: a file that is there, or a new one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from customers.enquiries.counting import count_in_household
from customers.enquiries.keeping import EnquiryRefused, Sayer, enter, hold, touch
from customers.enquiries.models import AnswerKind, Enquiry, EnquiryState, Told
from customers.households.actions import add_log, create_household
from customers.households.models import Customer, Site
from customers.observations.actions import Said, note_observations
from customers.observations.queries import SYMPTOMS
from customers.people.actors import Actor


@transaction.atomic
def attach_to_household(*, enquiry: Enquiry, site: Site, actor: Actor, now: datetime) -> Enquiry:
    """Put it into a household's file; complaints answered yes become the file's symptoms, and a cause confirmed
    becomes the file's. Doing it twice changes nothing.

    Raises ``EnquiryRefused`` for one that is in another file already.
    """
    held = hold(enquiry)
    if held.site_id == site.pk:
        return held
    if held.site is not None:
        told = {"enquiry": held.label, "place": held.site.name}
        raise EnquiryRefused(_("%(enquiry)s is in the file of %(place)s already") % told)
    held.site, enquiry.site = site, site
    if held.state == EnquiryState.TAKING:
        held.state = EnquiryState.IN_HAND
    touch(held, Sayer(actor.name), now, "site")
    enter(held, actor.name, _("put into the file of %(place)s") % {"place": site.name}, now)
    what = _("enquiry %(enquiry)s of %(who)s put into this file") % {"enquiry": held.label, "who": held.who}
    add_log(site=site, who=actor.name, what=what, at=now)
    carry_over(held, actor.name, now)
    count_in_household(enquiry=held, actor_name=actor.name, now=now)
    enquiry.state = held.state
    return held


@transaction.atomic
def turn_into_household(
    *,
    enquiry: Enquiry,
    actor: Actor,
    now: datetime,
    customer: Mapping[str, Any] | Customer,
    site: Mapping[str, Any],
    fixtures: Mapping[str, int],
    form_token: UUID | str | None = None,
) -> Site:
    """A new household file with the enquiry in it; the same ``form_token`` twice makes one.

    Raises ``EnquiryRefused`` for one that has a file, and the households' own ``HouseholdRefused``.
    """
    held = hold(enquiry)
    made = create_household(
        actor=actor, now=now, customer=customer, site=site, fixtures=fixtures, form_token=form_token
    )
    attach_to_household(enquiry=held, site=made, actor=actor, now=now)
    enquiry.site = made
    return made


def carry_over(enquiry: Enquiry, who: str, now: datetime) -> None:
    """Complaints answered yes that the file does not hold yet become its symptoms, in the caller's words."""
    site = enquiry.site
    rows = enquiry.answers.filter(
        kind=AnswerKind.OBSERVATION, answer=Told.YES, ended_at__isnull=True, observation__isnull=True
    )
    fresh = [row for row in rows if row.code in SYMPTOMS]
    if site is None or not fresh:
        return
    words = " ".join((enquiry.told or enquiry.note).split())[:400]
    said = [Said(row.code, words=words if at == 0 else "") for at, row in enumerate(fresh)]
    made = note_observations(site=site, actor_name=who, now=now, said=said)
    for row, observation in zip(fresh, made, strict=True):
        row.observation = observation
        row.save(update_fields=["observation"])
