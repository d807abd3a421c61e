"""The dealer's settings: saved whole, refused by name, and never over what somebody else changed meanwhile."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from customers.dealers.actions import DealerRefused, change_settings
from customers.dealers.forms import SettingsForm
from customers.dealers.models import Dealer

pytestmark = pytest.mark.django_db


def typed(dealer: Dealer, **changes: str) -> dict[str, str]:
    """The settings page as it opens, with some fields typed over."""
    form = SettingsForm(instance=dealer)
    shown = {name: form[name].value() for name in form.fields}
    return {name: "" if value is None else str(value) for name, value in shown.items()} | changes


def test_what_is_typed_on_the_settings_page_is_kept(owner_client: Client, dealer: Dealer) -> None:
    answer = owner_client.post(reverse("settings"), typed(dealer, labour_per_hour="118.50", quote_valid_days="45"))
    assert answer.status_code == 302
    row = Dealer.objects.get(pk=dealer.pk)
    assert (row.labour_per_hour, row.quote_valid_days) == (Decimal("118.50"), 45)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("time_zone", "Nowhere/Place", "Nowhere/Place is not a time zone"),
        ("currency", "dollars", "currency"),
        ("labour_per_hour", "-3", "“-3” typed; accepted is a number of at least 0"),
        ("discount_rate", "140", "“140” typed; accepted is a number from 0 to 100"),
        ("quote_valid_days", "soon", "“soon” typed; accepted is a whole number"),
        ("tax_rate", "", "nothing typed; accepted is a number from 0 to 100"),
    ],
)
def test_a_refused_setting_is_named_and_nothing_is_saved(
    name: str, value: str, said: str, owner_client: Client, dealer: Dealer
) -> None:
    before = Dealer.objects.values().get(pk=dealer.pk)
    answer = owner_client.post(reverse("settings"), typed(dealer, **{name: value, "phone": "555 0199"}))
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert Dealer.objects.values().get(pk=dealer.pk) == before


def test_a_price_may_be_typed_with_a_comma(owner_client: Client, dealer: Dealer) -> None:
    owner_client.post(reverse("settings"), typed(dealer, salt_per_kg="0,75"))
    assert Dealer.objects.get(pk=dealer.pk).salt_per_kg == Decimal("0.75")


def test_only_the_columns_named_are_written(dealer: Dealer) -> None:
    Dealer.objects.filter(pk=dealer.pk).update(phone="555 0111")
    change_settings(dealer=dealer, values={"quote_valid_days": 21})
    row = Dealer.objects.get(pk=dealer.pk)
    assert (row.phone, row.quote_valid_days) == ("555 0111", 21)


@pytest.mark.parametrize("values", [{"name": ""}, {"time_zone": "Nowhere/Place"}, {"labour_per_hour": Decimal(-1)}])
def test_the_action_itself_refuses_by_name(values: dict[str, Any], dealer: Dealer) -> None:
    with pytest.raises(DealerRefused) as refusal:
        change_settings(dealer=dealer, values={**values, "phone": "555 0199"})
    assert set(refusal.value.message_dict) == set(values)
    assert Dealer.objects.get(pk=dealer.pk).phone != "555 0199"
