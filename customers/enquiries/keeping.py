"""What every write of an enquiry begins and ends with: the row held, its state moved, a line about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from customers.enquiries.models import CameBy, Enquiry, EnquiryEntry, EnquiryState


class EnquiryRefused(ValueError):
    """Nothing was written; ``errors`` names each field ("" for the whole), what came and what would do."""

    def __init__(self, errors: Mapping[str, str] | str) -> None:
        self.errors = {"": errors} if isinstance(errors, str) else dict(errors)
        super().__init__(" ".join(self.errors.values()))


@dataclass(frozen=True)
class Sayer:
    """Who says something: somebody of the dealer's, or the caller on the mailed page."""

    name: str
    caller: bool = False


def caller_of(enquiry: Enquiry) -> Sayer:
    """The caller, as the history names them."""
    return Sayer(enquiry.name or _("the caller"), caller=True)


def hold(enquiry: Enquiry) -> Enquiry:
    """The row as it stands now, held until the write is done. Raises ``EnquiryRefused`` for a closed one."""
    held: Enquiry = Enquiry.objects.select_for_update().get(pk=enquiry.pk)
    if not held.open:
        raise EnquiryRefused(_("%(enquiry)s is closed; open it again before changing it") % {"enquiry": held.label})
    enquiry.state = held.state
    return held


def touch(enquiry: Enquiry, by: Sayer, now: datetime, *fields: str) -> Enquiry:
    """Write the columns named, and when; what came in by the page is in hand once the office writes in it."""
    if enquiry.state == EnquiryState.ARRIVED and not by.caller:
        enquiry.state = EnquiryState.IN_HAND
    enquiry.changed_at = now
    enquiry.save(update_fields=["changed_at", "state", *fields])
    return enquiry


def enter(enquiry: Enquiry, who: str, what: str, at: datetime) -> EnquiryEntry:
    """One line of what happened."""
    return EnquiryEntry.objects.create(dealer_id=enquiry.dealer_id, enquiry=enquiry, who=who, what=what[:400], at=at)


def sent_in_by(enquiry: Enquiry) -> str:
    """How an enquiry the caller has sent in came."""
    return CameBy.LINK if enquiry.state == EnquiryState.AWAITED else enquiry.came_by
