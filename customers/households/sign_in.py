"""A household's own sign-in: who may see its pages, and the mailed link that opens them once."""

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
from customers.households.log import add_log
from customers.households.models import HouseholdAccess, SignInLink, Site
from customers.people.actors import Actor, actor_of_user
from customers.people.models import Staff, User
from customers.tenancy.scope import dealer_scope

LINK_LIFE = timedelta(days=14)


class AccessRefused(ValueError):
    """A sign-in could not be given; the sentence says why and what would do."""


class LinkUsedUp(ValueError):
    """A sign-in link that is unknown, used, too old, or whose person no longer has access: all alike."""


@transaction.atomic
def give_access(*, site: Site, email: str, actor: Actor, now: datetime) -> User:
    """Let the person at ``email`` see the household's own pages; a user is made if there is none.

    Raises ``AccessRefused`` for an address that cannot be one, or that belongs to the dealer's own staff.
    """
    address = email.strip().lower()
    try:
        validate_email(address)
    except ValidationError:
        message = _("e-mail: %(address)s typed, accepted is an address such as name@mail.example")
        raise AccessRefused(message % {"address": email}) from None
    user = User.objects.filter(email=address).first()
    if user is None:
        user = User.objects.create_user(address)
    if Staff.objects.filter(user=user, active=True).exists():
        raise AccessRefused(_("%(address)s belongs to your staff; use another address") % {"address": address})
    access, _made = HouseholdAccess.objects.get_or_create(
        dealer_id=site.dealer_id, site=site, user=user, defaults={"active": True}
    )
    if _made or not access.active:
        access.active = True
        access.save(update_fields=["active"])
        what = _("sign-in to the household's pages given to %(address)s") % {"address": address}
        add_log(site=site, who=actor.name, what=what, at=now)
    return user


@transaction.atomic
def take_access(*, site: Site, user: User, actor: Actor, now: datetime) -> None:
    """End a person's access; links not yet used stop working. Raises ``AccessRefused`` if they had none."""
    ended = HouseholdAccess.objects.filter(site=site, user=user, active=True).update(active=False)
    if not ended:
        raise AccessRefused(_("%(user)s has no sign-in to this household") % {"user": user.email})
    what = _("sign-in of %(address)s ended") % {"address": user.email}
    add_log(site=site, who=actor.name, what=what, at=now)


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def make_sign_in_link(*, site: Site, user: User, now: datetime, leads_to: str = "") -> str:
    """A token for a mailed link, told once; only its hash is kept. It begins with the dealer's id, so that the
    dealer's scope can be entered before anybody is signed in. ``leads_to`` is a path of the household's pages.
    """
    token = f"{site.dealer.public_id.hex}.{secrets.token_urlsafe(32)}"
    SignInLink.objects.create(
        dealer_id=site.dealer_id,
        site=site,
        user=user,
        token_hash=_hash(token),
        leads_to=leads_to,
        created_at=now,
        expires_at=now + LINK_LIFE,
    )
    return token


def _dealer_in(token: str) -> Dealer:
    head, _dot, _secret = token.partition(".")
    try:
        dealer = Dealer.objects.filter(public_id=UUID(hex=head)).first()
    except ValueError:
        dealer = None
    if dealer is None:
        raise LinkUsedUp(_("This link does not work any more. Ask for a code instead."))
    return dealer


def look_at_link(*, token: str, now: datetime) -> SignInLink:
    """The link behind a token, without using it up. Raises ``LinkUsedUp``, also for somebody who since became
    staff: a mailed link never stands for a password."""
    dealer = _dealer_in(token)
    with dealer_scope(dealer):
        live = SignInLink.objects.filter(
            token_hash=_hash(token), used_at__isnull=True, expires_at__gt=now, user__is_active=True
        )
        link: SignInLink | None = live.select_related("site", "user", "dealer").first()
        known = link and HouseholdAccess.objects.filter(site=link.site, user=link.user, active=True).exists()
    actor = actor_of_user(link.user) if link and known else None
    if link is None or actor is None or not actor.is_customer:
        raise LinkUsedUp(_("This link does not work any more. Ask for a code instead."))
    return link


@transaction.atomic
def consume_sign_in_link(*, token: str, now: datetime) -> SignInLink:
    """Use a link up: only the first of two at the same moment gets it. Raises ``LinkUsedUp``."""
    link = look_at_link(token=token, now=now)
    with dealer_scope(link.dealer):
        got = SignInLink.objects.filter(pk=link.pk, used_at__isnull=True).update(used_at=now)
    if got != 1:
        raise LinkUsedUp(_("This link does not work any more. Ask for a code instead."))
    link.used_at = now
    return link
