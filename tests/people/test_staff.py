"""Adding staff, changing them, ending their access."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from customers.people.actions import StaffRefused, add_staff, change_staff
from customers.people.models import Staff, User
from tests import factories
from tests.conftest import signed_in


def test_the_owner_adds_somebody_who_can_set_a_password(owner_client: Any, dealer: Any) -> None:
    data = {"email": "Birgit@Mail.example ", "name": "Birgit Holm", "role": "technician", "phone": "555 0144"}
    for _n in range(2):
        page = owner_client.post(reverse("staff"), data)
    assert page.status_code == 422
    assert "on the staff already" in page.content.decode()
    row = Staff.objects.get(user__email="birgit@mail.example")
    assert row.role == "technician"
    assert not row.user.has_usable_password()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"email": "birgit"}, "accepted is an address such as"),
        ({"role": "chief"}, "accepted is one of owner, office, technician"),
        ({"name": "  "}, "accepted is the person's name"),
    ],
)
def test_staff_that_cannot_be_is_refused_and_nothing_is_kept(dealer: Any, change: dict[str, str], words: str) -> None:
    sound = {"email": "birgit@mail.example", "name": "Birgit Holm", "role": "office"}
    with pytest.raises(StaffRefused, match=words):
        add_staff(dealer=dealer, **{**sound, **change})
    assert not User.objects.exists()


def test_another_dealers_staff_is_not_taken_over(dealer: Any, other_dealer: Any) -> None:
    theirs = factories.StaffFactory(dealer=other_dealer)
    with pytest.raises(StaffRefused):
        add_staff(dealer=dealer, email=theirs.user.email, name="Somebody", role="office")


def test_the_last_owner_stays(owner: Any, dealer: Any) -> None:
    for role, active in (("office", True), ("owner", False)):
        with pytest.raises(StaffRefused, match="make somebody else an owner first"):
            change_staff(staff=Staff.objects.get(), name="Owner", role=role, phone="", active=active)
    assert Staff.objects.get().role == "owner"
    assert Staff.objects.get().active
    add_staff(dealer=dealer, email="second@mail.example", name="Second", role="owner")
    change_staff(staff=owner, name="Owner", role="office", phone="", active=True)
    assert Staff.objects.get(pk=owner.pk).role == "office"


def test_ended_access_shuts_every_page_at_once(owner_client: Any, office: Any, clock: Any) -> None:
    client = signed_in(office.user)
    assert client.get(reverse("today")).status_code == 200
    data = {"name": "Office Person", "role": "office", "phone": ""}
    owner_client.post(reverse("staff-member", args=[office.public_id]), data)
    assert client.get(reverse("today")).status_code == 403
    owner_client.post(reverse("staff-member", args=[office.public_id]), {**data, "active": "on"})
    assert client.get(reverse("today")).status_code == 200
