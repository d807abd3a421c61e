"""Writes of an enquiry's photographs."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from typing import IO, Any

from django.db import transaction
from django.db.models.fields.files import FieldFile
from django.utils.translation import gettext as _

from customers.enquiries.devices import check_thing
from customers.enquiries.keeping import EnquiryRefused, Sayer, hold, touch
from customers.enquiries.models import Enquiry, EnquiryPhoto
from customers.photos.models import columns_of
from customers.photos.taking import take_photo

MOST_PHOTOS = 12
MOST_WORDS = 240


@transaction.atomic
def add_photo(
    *, enquiry: Enquiry, by: Sayer, now: datetime, upload: IO[bytes] | Any, words: str = "", thing: int | None = None
) -> EnquiryPhoto:
    """Keep one photograph, of a device where ``thing`` says which.

    Raises ``PhotoRefused`` for what is no picture, ``EnquiryRefused`` past twelve.
    """
    text = " ".join(words.split())
    if len(text) > MOST_WORDS:
        told = {"n": len(text), "most": MOST_WORDS}
        raise EnquiryRefused({"words": _("%(n)s characters typed; accepted is at most %(most)s") % told})
    held = hold(enquiry)
    if held.photos.count() >= MOST_PHOTOS:
        message = _("%(most)s photographs are here already; take one out to add another")
        raise EnquiryRefused({"photo": message % {"most": MOST_PHOTOS}})
    if thing is not None:
        check_thing(held, thing)
    photo = EnquiryPhoto.objects.create(
        dealer_id=held.dealer_id,
        enquiry=held,
        words=text,
        thing=thing,
        kept_by=by.name,
        kept_at=now,
        by_caller=by.caller,
        **columns_of(take_photo(upload)),
    )
    touch(held, by, now)
    enquiry.state = held.state
    return photo


@transaction.atomic
def remove_photo(*, photo: EnquiryPhoto, by: Sayer, now: datetime) -> None:
    """Take a photograph out; its files go once that is certain. The caller may only take out their own.

    Raises ``EnquiryRefused``.
    """
    held = hold(photo.enquiry)
    if by.caller and not photo.by_caller:
        raise EnquiryRefused({"photo": _("this photograph is the office's; accepted are your own")})
    files = [photo.file, photo.small]
    photo.delete()
    touch(held, by, now)
    transaction.on_commit(partial(_delete, files))


def _delete(files: list[FieldFile]) -> None:
    for file in files:
        file.delete(save=False)
