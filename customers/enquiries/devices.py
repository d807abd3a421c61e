"""Writes of an enquiry's unknown devices: another one begun, what it is called, what it was taken for."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from customers.enquiries.keeping import EnquiryRefused, Sayer, enter, hold, touch
from customers.enquiries.models import Enquiry, EnquiryDevice
from customers.people.actors import Actor
from sizing.engine.diagnosis_tables import DiagnosisTables

MOST_DEVICES = 6
MOST_CALLED = 80


def check_thing(enquiry: Enquiry, number: int) -> None:
    """Raise ``EnquiryRefused`` where the enquiry has no device of this number; the first is always there."""
    if number != 1 and not enquiry.devices.filter(number=number).exists():
        raise EnquiryRefused(
            {"device": _("%(enquiry)s has no device %(n)s") % {"enquiry": enquiry.label, "n": number}}
        )


@transaction.atomic
def begin_device(*, enquiry: Enquiry, by: Sayer, now: datetime) -> EnquiryDevice:
    """Another device beside those told of. Raises ``EnquiryRefused`` past six."""
    held = hold(enquiry)
    _row(held, 1)
    last = max(held.devices.values_list("number", flat=True))
    if last >= MOST_DEVICES:
        message = _("%(most)s devices are here already; accepted is a further enquiry for more")
        raise EnquiryRefused({"device": message % {"most": MOST_DEVICES}})
    row = _row(held, last + 1)
    touch(held, by, now)
    return row


@transaction.atomic
def call_device(*, enquiry: Enquiry, by: Sayer, now: datetime, number: int, called: str) -> None:
    """Keep what people call a device. Raises ``EnquiryRefused`` for too many words, or no such device."""
    text = " ".join(called.split())
    if len(text) > MOST_CALLED:
        told = {"n": len(text), "most": MOST_CALLED}
        message = _("%(n)s characters typed; accepted is at most %(most)s") % told
        raise EnquiryRefused({f"called-{number}": message})
    held = hold(enquiry)
    check_thing(held, number)
    standing = held.devices.filter(number=number).first()
    if text == (standing.called if standing else ""):
        return
    row = standing or _row(held, number)
    row.called = text
    row.save(update_fields=["called"])
    touch(held, by, now)


@transaction.atomic
def note_device(
    *, enquiry: Enquiry, actor: Actor, now: datetime, device: str, tables: DiagnosisTables, thing: int = 1
) -> EnquiryDevice:
    """Keep what one of the unknown devices was taken for. Raises ``EnquiryRefused`` for one that is not in the
    tables, or a device the enquiry does not have."""
    if device not in tables.devices:
        raise EnquiryRefused({"device": _("“%(device)s” is no device of the tables") % {"device": device}})
    held = hold(enquiry)
    check_thing(held, thing)
    row = _row(held, thing)
    row.taken_for = device
    row.save(update_fields=["taken_for"])
    touch(held, Sayer(actor.name), now)
    told = {"name": str(row), "words": tables.devices[device].words}
    enter(held, actor.name, _("%(name)s taken for: %(words)s") % told, now)
    return row


def _row(enquiry: Enquiry, number: int) -> EnquiryDevice:
    row, _made = EnquiryDevice.objects.get_or_create(dealer_id=enquiry.dealer_id, enquiry=enquiry, number=number)
    return row
