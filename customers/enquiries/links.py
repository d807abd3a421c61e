"""The mailed page of questions: made, looked at, used, revoked. Its token is told once and kept as a hash."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.utils.translation import gettext as _

from customers.dealers.models import Dealer
from customers.enquiries.keeping import EnquiryRefused, Sayer, enter, hold, touch
from customers.enquiries.models import Enquiry, EnquiryLink, EnquiryState
from customers.tenancy.scope import dealer_scope

LINK_LIFE = timedelta(days=14)


class NoSuchLink(LookupError):
    """A token that is none of ours: nothing can be said about it."""


class LinkSpent(ValueError):
    """A link of ours that does not open its page: ``why`` is "used", "old", "revoked" or "closed"."""

    def __init__(self, link: EnquiryLink, why: str) -> None:
        self.link, self.why = link, why
        super().__init__(why)


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def make_link(*, enquiry: Enquiry, by: Sayer, now: datetime, address: str) -> tuple[EnquiryLink, str]:
    """A new page for the caller and its token, told once; earlier pages that nobody opened stop working.

    The token begins with the dealer's id, so that the dealer's scope can be entered before anybody is known.
    Raises ``EnquiryRefused`` for what is no address.
    """
    to = address.strip().lower()
    try:
        validate_email(to)
    except ValidationError:
        message = _("“%(text)s” typed; accepted is an address such as name@mail.example")
        raise EnquiryRefused({"email": message % {"text": address}}) from None
    held = hold(enquiry)
    held.links.filter(used_at__isnull=True, revoked_at__isnull=True).update(revoked_at=now)
    token = f"{held.dealer.public_id.hex}.{secrets.token_urlsafe(32)}"
    link = EnquiryLink.objects.create(
        dealer_id=held.dealer_id,
        enquiry=held,
        to_address=to,
        token_hash=_hash(token),
        made_by=by.name,
        made_at=now,
        expires_at=now + LINK_LIFE,
    )
    if held.state == EnquiryState.TAKING:
        held.state = EnquiryState.AWAITED
    held.email = held.email or to
    touch(held, by, now, "email")
    enter(held, by.name, _("page of questions mailed to %(address)s") % {"address": to}, now)
    enquiry.state, enquiry.email = held.state, held.email
    return link, token


@transaction.atomic
def revoke_links(*, enquiry: Enquiry, actor_name: str, now: datetime) -> int:
    """Stop every page of the enquiry, also one that is open on somebody's phone. Returns how many."""
    stopped: int = enquiry.links.filter(revoked_at__isnull=True).update(revoked_at=now)
    if stopped:
        enter(enquiry, actor_name, _("mailed page stopped"), now)
    return stopped


def _dealer_in(token: str) -> Dealer:
    head, _dot, _secret = token.partition(".")
    try:
        dealer = Dealer.objects.filter(public_id=UUID(hex=head)).first()
    except ValueError:
        dealer = None
    if dealer is None:
        raise NoSuchLink
    return dealer


def find_link(*, token: str) -> EnquiryLink:
    """The link of a token, whatever has become of it. Raises ``NoSuchLink``."""
    with dealer_scope(_dealer_in(token)):
        rows = EnquiryLink.objects.filter(token_hash=_hash(token)).select_related("enquiry", "dealer")
        link: EnquiryLink | None = rows.first()
    if link is None:
        raise NoSuchLink
    return link


def spent(link: EnquiryLink, now: datetime) -> str:
    """Why a link can no longer be opened; "" for one that can. Its enquiry decides before its own age does."""
    if not link.enquiry.open:
        return "closed"
    if link.revoked_at is not None:
        return "revoked"
    if link.used_at is not None:
        return "used"
    return "old" if link.expires_at <= now else ""


def look_at_link(*, token: str, now: datetime) -> EnquiryLink:
    """The link behind a token, without using it up. Raises ``NoSuchLink`` or ``LinkSpent``."""
    link = find_link(token=token)
    if why := spent(link, now):
        raise LinkSpent(link, why)
    return link


@transaction.atomic
def use_link(*, token: str, now: datetime) -> EnquiryLink:
    """Use a link up: only the first of two at the same moment gets it. Raises as ``look_at_link`` does."""
    link = look_at_link(token=token, now=now)
    with dealer_scope(link.dealer):
        got = EnquiryLink.objects.filter(pk=link.pk, used_at__isnull=True, revoked_at__isnull=True).update(
            used_at=now
        )
    if got != 1:
        raise LinkSpent(link, "used")
    link.used_at = now
    return link
