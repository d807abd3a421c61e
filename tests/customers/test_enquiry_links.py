"""The mailed page of an enquiry: its token opens it once, for a while, until it is stopped."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from customers.enquiries.actions import close_enquiry
from customers.enquiries.keeping import EnquiryRefused, Sayer
from customers.enquiries.links import (
    LINK_LIFE,
    LinkSpent,
    NoSuchLink,
    find_link,
    look_at_link,
    make_link,
    revoke_links,
    use_link,
)
from tests import factories

MAREN = Sayer("Maren Vik")


@pytest.fixture
def enquiry(dealer: Any) -> Any:
    return factories.EnquiryFactory(dealer=dealer, email="")


def made(enquiry: Any, now: Any) -> tuple[Any, str]:
    return make_link(enquiry=enquiry, by=MAREN, now=now, address="Odd@Home.Example ")


def test_a_link_is_told_once_and_kept_as_a_hash(enquiry: Any, now: Any) -> None:
    link, token = made(enquiry, now)
    assert link.to_address == "odd@home.example"
    assert token.split(".")[1] not in link.token_hash
    assert len(token.split(".")[1]) >= 43  # 32 random bytes
    enquiry.refresh_from_db()
    assert (enquiry.state, enquiry.email) == ("awaited", "odd@home.example")
    assert look_at_link(token=token, now=now) == link
    assert look_at_link(token=token, now=now) == link


def test_it_opens_once(enquiry: Any, now: Any) -> None:
    link, token = made(enquiry, now)
    assert use_link(token=token, now=now) == link
    with pytest.raises(LinkSpent) as refused:
        use_link(token=token, now=now)
    assert (refused.value.why, refused.value.link) == ("used", link)


def test_it_grows_old(enquiry: Any, now: Any) -> None:
    _link, token = made(enquiry, now)
    assert look_at_link(token=token, now=now + LINK_LIFE - timedelta(seconds=1))
    with pytest.raises(LinkSpent) as refused:
        look_at_link(token=token, now=now + LINK_LIFE)
    assert refused.value.why == "old"


def test_it_can_be_stopped_used_or_not(enquiry: Any, now: Any) -> None:
    _link, token = made(enquiry, now)
    use_link(token=token, now=now)
    assert revoke_links(enquiry=enquiry, actor_name="Maren Vik", now=now) == 1
    assert revoke_links(enquiry=enquiry, actor_name="Maren Vik", now=now) == 0
    with pytest.raises(LinkSpent) as refused:
        look_at_link(token=token, now=now)
    assert refused.value.why == "revoked"


def test_a_new_one_stops_those_nobody_opened(enquiry: Any, now: Any) -> None:
    _first, token = made(enquiry, now)
    made(enquiry, now)
    with pytest.raises(LinkSpent) as refused:
        look_at_link(token=token, now=now)
    assert refused.value.why == "revoked"


def test_a_closed_enquiry_says_so_before_anything_else(enquiry: Any, office_actor: Any, now: Any) -> None:
    _link, token = made(enquiry, now)
    close_enquiry(enquiry=enquiry, actor=office_actor, now=now, reason="sold")
    with pytest.raises(LinkSpent) as refused:
        use_link(token=token, now=now)
    assert refused.value.why == "closed"
    with pytest.raises(EnquiryRefused, match="is closed"):
        made(enquiry, now)


@pytest.mark.parametrize("token", ["", "nobody", "0" * 32 + ".x", "zz.", "a" * 4000])
def test_a_token_that_is_none_of_ours(enquiry: Any, token: str, now: Any) -> None:
    with pytest.raises(NoSuchLink):
        find_link(token=token)
    with pytest.raises(NoSuchLink):
        find_link(token=f"{enquiry.dealer.public_id.hex}.{token}")


def test_a_link_goes_to_an_address(enquiry: Any, now: Any) -> None:
    with pytest.raises(EnquiryRefused, match="“odd” typed; accepted is an address"):
        make_link(enquiry=enquiry, by=MAREN, now=now, address="odd")
    assert not enquiry.links.exists()
