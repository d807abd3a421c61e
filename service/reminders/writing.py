"""What a message says: its template, with sender, second contact and unsubscribe link in every one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.template.loader import render_to_string
from django.urls import reverse

from customers.dealers.models import Dealer
from customers.enquiries.models import Enquiry
from customers.households.models import Site
from service.installs.water_path import under_notice

SAFETY = frozenset({"do_not_drink", "notice_lifted"})  # nobody can switch these off
ASKED_FOR = frozenset({"sign_in_link", "questions"})  # a person is waiting for it
HIGH_GROUND_M = 1500.0
SALT = "tarnhouse.unsubscribe"


@dataclass(frozen=True)
class Written:
    """A message ready to queue."""

    subject: str
    body: str
    body_html: str


class BadUnsubscribe(ValueError):
    """An unsubscribe link that was not made here."""


def unsubscribe_token(dealer: Dealer, address: str) -> str:
    """A signed token naming dealer and address: no cookie and no sign-in needed."""
    return signing.dumps({"d": str(dealer.public_id), "a": address}, salt=SALT, compress=True)


def read_unsubscribe(token: str) -> tuple[Dealer, str]:
    """The dealer and address of a token. Raises ``BadUnsubscribe``."""
    try:
        held = signing.loads(token, salt=SALT)
        dealer = Dealer.objects.filter(public_id=UUID(held["d"])).first()
    except (signing.BadSignature, KeyError, ValueError, TypeError):
        raise BadUnsubscribe("This link was not made here or was cut short.") from None
    if dealer is None:
        raise BadUnsubscribe("This link was not made here or was cut short.")
    return dealer, str(held["a"])


def unsubscribe_url(dealer: Dealer, address: str) -> str:
    """The full address of the unsubscribe page."""
    return settings.PUBLIC_URL + reverse("unsubscribe", args=[unsubscribe_token(dealer, address)])


def boil_minutes(site: Site) -> int:
    """Minutes of a full rolling boil to print: 1, or 3 above 1,500 m and where the height is not known.

    Source: the strictest of the agencies compared by Dorris et al., Emerg Infect Dis 31(8), 2025 (published).
    """
    known_low = site.elevation_m is not None and site.elevation_m <= HIGH_GROUND_M
    return 1 if known_low else 3


def write_message(*, event: str, site: Site, to_address: str, context: Mapping[str, Any]) -> Written:
    """Fill ``templates/emails/<event>/`` {subject.txt, text.txt, body.html} for a household.

    Context beside the given one: ``site``, ``dealer``, ``notice`` (whether one stands), ``unsubscribe`` (the
    link), ``boil_minutes``, ``safety`` (it goes whatever the reader chose), ``home`` (address of
    the household's pages).
    """
    return _written(
        event,
        {
            "site": site,
            "dealer": site.dealer,
            "notice": under_notice(site) and event != "notice_lifted",
            "unsubscribe": unsubscribe_url(site.dealer, to_address),
            "safety": event in SAFETY,
            "boil_minutes": boil_minutes(site),
            "home": settings.PUBLIC_URL + "/home/",
            **context,
        },
    )


def write_to_caller(*, event: str, enquiry: Enquiry, to_address: str, context: Mapping[str, Any]) -> Written:
    """The same for somebody who enquired: ``enquiry`` in place of ``site``, which is the household's once it has a
    file."""
    site = enquiry.site
    return _written(
        event,
        {
            "enquiry": enquiry,
            "site": site,
            "dealer": enquiry.dealer,
            "notice": site is not None and under_notice(site),
            "unsubscribe": unsubscribe_url(enquiry.dealer, to_address),
            "safety": event in SAFETY,
            **context,
        },
    )


def _written(event: str, filled: Mapping[str, Any]) -> Written:
    subject = " ".join(render_to_string(f"emails/{event}/subject.txt", filled).split())
    if filled["notice"] and event not in SAFETY:
        subject = f"Do not drink the water. {subject}"
    return Written(
        subject[:200],
        render_to_string(f"emails/{event}/text.txt", filled).strip() + "\n",
        render_to_string(f"emails/{event}/body.html", filled),
    )
