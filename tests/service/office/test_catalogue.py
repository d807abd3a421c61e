"""The catalogue's pages: found and priced, forms in both unit systems, files looked at, prices agreed to."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from customers.sheets import read_table
from customers.tenancy.scope import dealer_scope
from sizing.catalogue.adapters import product_of
from sizing.catalogue.forms import ItemForm
from sizing.catalogue.models import CatalogueFile, CatalogueItem, PriceList
from sizing.catalogue.queries import items, price_of
from sizing.engine.design import StageKind
from tests import factories
from tests.sizing.catalogue.made import shelf

LIST_QUERIES = 9
PSI = 6.894757293168361


@pytest.fixture
def shelved(dealer: Any) -> dict[str, CatalogueItem]:
    return shelf(dealer)


def told(response: Any) -> str:
    """Text of a page without its tags."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def typed(item: CatalogueItem, *, new: bool = False, system: str = "metric", **changes: str) -> dict[str, str]:
    """What a browser would post of an item's form as it stands, with some fields typed over."""
    form = ItemForm(
        kind=StageKind(item.kind),
        system=system,
        currency="CAD",
        product=product_of(item),
        active=item.active,
        new=new,
    )
    data: dict[str, Any] = {}
    for one in (form, *form.parts):
        for field in one:
            value = field.value()
            if value is True:
                data[field.html_name] = "on"
            elif value not in (None, False, "", []):
                data[field.html_name] = value if isinstance(value, list) else str(value)
    return {**data, **changes}


def url(name: str, item: CatalogueItem) -> str:
    return reverse(name, args=[item.public_id])


def upload(client: Any, text: str, name: str = "list.csv") -> Any:
    return client.post(reverse("catalogue-upload"), {"file": SimpleUploadedFile(name, text.encode())})


@pytest.mark.parametrize("count", [1, 30])
def test_the_list_takes_as_many_queries_for_one_item_as_for_thirty(
    office_client: Any, dealer: Any, django_assert_num_queries: Any, count: int
) -> None:
    for _n in range(count):
        factories.CatalogueItemFactory(dealer=dealer)
    with django_assert_num_queries(LIST_QUERIES):
        response = office_client.get(reverse("catalogue"))
    assert response.content.decode().count("UV unit, 30") == count


@pytest.mark.parametrize(("count", "name"), [(1, "catalogue-lists"), (30, "catalogue-lists")])
def test_lists_take_as_many_queries_for_one_as_for_thirty(
    office_client: Any, dealer: Any, django_assert_num_queries: Any, count: int, name: str
) -> None:
    for day in range(1, count + 1):
        factories.PriceListFactory(dealer=dealer, valid_from=f"2027-01-{day:02d}")
    with django_assert_num_queries(6):
        assert office_client.get(reverse(name)).status_code == 200


def test_words_kind_and_retired_narrow_the_list(office_client: Any, shelved: Any) -> None:
    everything = told(office_client.get(reverse("catalogue")))
    assert "8 items" in everything
    narrowed = told(office_client.get(reverse("catalogue"), {"q": "carbon 20"}))
    assert "1 item" in narrowed
    assert "Softener" not in re.sub(r"all kinds.*?our own", "", narrowed)
    assert "2 items" in told(office_client.get(reverse("catalogue"), {"kind": "carbon"}))
    assert "No item has all of these words" in told(office_client.get(reverse("catalogue"), {"retired": "1"}))


def test_typing_gets_the_table_alone(office_client: Any, shelved: Any) -> None:
    response = office_client.get(reverse("catalogue"), {"q": "uv"}, headers={"HX-Request": "true"})
    assert response.content.decode().lstrip().startswith("<p")
    assert "UV class A, 42" in told(response)


def test_an_item_is_shown_in_the_dealers_units(office_client: Any, dealer: Any, shelved: Any) -> None:
    page = told(office_client.get(url("catalogue-item", shelved["uv-a-42"])))
    assert "42 L/min" in page
    assert "lamp 48" in page
    assert "Change" not in page, "the owner changes items"
    dealer.units = "us"
    dealer.save()
    assert "11.1 gpm" in told(office_client.get(url("catalogue-item", shelved["uv-a-42"])))


def test_an_item_saved_as_it_stands_is_not_changed(owner_client: Any, dealer: Any, shelved: Any) -> None:
    before = {code: product_of(item) for code, item in shelved.items()}
    for system in ("metric", "us"):
        dealer.units = system
        dealer.save()
        for item in shelved.values():
            response = owner_client.post(url("catalogue-item-edit", item), typed(item, system=system))
            assert response.status_code == 302, told(response)
            assert item.log.count() == 0
    assert {item.code: product_of(item) for item in items()} == before


def test_numbers_are_typed_in_the_dealers_unit_or_any_other(owner_client: Any, dealer: Any, shelved: Any) -> None:
    dealer.units = "us"
    dealer.save()
    item = shelved["uv-a-42"]
    sent = typed(item, system="us", rating_loss_kpa="4", rating_rated_flow_l_min="40 L/min", rating_height_m="1,05 m")
    assert owner_client.post(url("catalogue-item-edit", item), sent).status_code == 302
    item.refresh_from_db()
    assert item.ratings["loss_kpa"] == pytest.approx(4 * PSI)
    assert item.ratings["rated_flow_l_min"] == 40.0
    assert item.ratings["height_m"] == pytest.approx(1.05)
    assert "Owner Person" in item.log.get().who


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rating_rated_flow_l_min": "8 furlongs"}, "“8 furlongs” typed; accepted is a number more than 0"),
        ({"rating_loss_kpa": "-5"}, "“-5” typed; accepted is at least 0 and at most 200 kPa"),
        ({"rating_rated_dose": "300"}, "“300” typed; accepted is at least 0 and at most 95"),
        ({"rating_lamp_w": ""}, "nothing typed; accepted is a number at least 4 and at most 500 W"),
        ({"rating_uv_class": "C"}, "“C” chosen; accepted is A, B"),
        ({"name": ""}, "Name: nothing typed"),
        ({"price": "dear"}, "“dear” typed; accepted is a number from 0 to"),
        ({"part1-amount": ""}, "Part 1, UV lamp 48 W: nothing typed; a part needs it"),
        ({"part1-specification": ""}, "Part 1, UV lamp 48 W: “” typed; accepted is what to buy"),
        ({"part5-name": "Spare"}, "Another part: nothing typed; a part needs it"),
    ],
)
def test_a_refused_form_names_field_value_and_what_would_do(
    owner_client: Any, shelved: Any, changes: dict[str, str], words: str
) -> None:
    item = shelved["uv-a-42"]
    response = owner_client.post(url("catalogue-item-edit", item), typed(item, **changes))
    assert response.status_code == 422
    assert words in told(response)
    assert response.content.decode().index("data-error-summary") < response.content.decode().index('class="form file')
    item.refresh_from_db()
    assert item.log.count() == 0


def test_a_part_is_taken_out_and_another_put_in(owner_client: Any, shelved: Any) -> None:
    item = shelved["uv-a-42"]
    sent = typed(
        item,
        **{
            "part4-gone": "on", "part5-code": "ballast", "part5-name": "Ballast", "part5-price": "88",
            "part5-specification": "electronic, 48 W", "part5-life": "condition", "part5-amount": "12",
        },
    )  # fmt: skip
    assert owner_client.post(url("catalogue-item-edit", item), sent).status_code == 302
    item.refresh_from_db()
    assert [part["code"] for part in item.wear] == ["lamp", "sleeve", "sleeve_rings", "ballast"]
    assert item.wear[3]["minutes"] == 20.0


def test_a_copy_becomes_an_item_of_ones_own(owner_client: Any, shelved: Any) -> None:
    source = shelved["carb-20x45"]
    address = f"{reverse('catalogue-new')}?kind=carbon&copy={source.public_id}"
    page = owner_client.get(address)
    assert "Copied from Carbon cartridge" in told(page)
    assert "Tank diameter" not in told(page), "a cartridge has no tank"
    response = owner_client.post(address, typed(source, new=True, code="carb-ours", certified_for=["voc"]))
    item = items().get(code="carb-ours")
    assert response.headers["Location"] == url("catalogue-item", item)
    assert (item.own, item.certified_for, item.ratings) == (True, ["voc"], source.ratings)
    taken = owner_client.post(address, typed(source, new=True, code="carb-12"))
    assert taken.status_code == 422
    assert "carb-12" in told(taken)


def test_a_new_item_from_nothing_asks_which_kind_first(owner_client: Any, shelved: Any) -> None:
    assert "Reverse osmosis" in told(owner_client.get(reverse("catalogue-new")))
    response = owner_client.post(f"{reverse('catalogue-new')}?kind=restrictor", {})
    assert response.status_code == 422
    assert "Flow it holds: nothing typed" in told(response)
    sent = {
        "code": "hold-34", "name": "Restrictor 34", "price": "50", "install_hours": "0.4", "active": "on",
        "rating_flow_l_min": "9 US gpm", "rating_loss_kpa": "5 psi", "rating_pipe": "1", "rating_width_m": "100",
    }  # fmt: skip
    assert owner_client.post(f"{reverse('catalogue-new')}?kind=restrictor", sent).status_code == 302
    assert items().get(code="hold-34").ratings["flow_l_min"] == pytest.approx(9 * 3.785411784)


def test_retired_and_offered_again(owner_client: Any, shelved: Any) -> None:
    item = shelved["uv-a-42"]
    for active in (False, True):
        owner_client.post(url("catalogue-item-offer", item))
        item.refresh_from_db()
        assert item.active is active


def test_a_price_from_a_day_on(owner_client: Any, shelved: Any, today: Any) -> None:
    item = shelved["uv-a-42"]
    sent = {"valid_from": "2027-01-01", "price": "1100", "part_lamp": "120", "part_sleeve": ""}
    assert owner_client.post(url("catalogue-item-price", item), sent).status_code == 302
    page = told(owner_client.get(url("catalogue-item", item)))
    assert "1 Jan 2027 Prices set for 1 Jan 2027 to come 1,100.00" in page
    late = owner_client.post(url("catalogue-item-price", item), {**sent, "valid_from": "2026-01-01"})
    assert "“2026-01-01” typed; accepted is a day from 2026-06-09 on" in told(late)
    wrong = owner_client.post(url("catalogue-item-price", item), {**sent, "price": ""})
    assert "Price: nothing typed; accepted is an amount from 0" in told(wrong)
    assert "61" not in told(owner_client.get(reverse("catalogue"))).split("UV class A, 42")[0][-4:]


def test_a_raise_is_looked_at_and_agreed_to(owner_client: Any, shelved: Any) -> None:
    sent = {"kind": "carbon", "percent": "10", "step": "1", "parts": "on", "name": "2027", "valid_from": "2027-01-01"}
    looked = owner_client.post(reverse("catalogue-raise"), sent)
    assert not PriceList.objects.exists()
    assert "1,444.00" in told(looked)
    assert "1,588.00" in told(looked)
    mark = re.search(r'name="mark" value="([0-9a-f]{32})"', looked.content.decode())[1]  # type: ignore[index]
    agreed = owner_client.post(reverse("catalogue-raise"), {**sent, "mark": mark})
    kept = PriceList.objects.get()
    assert agreed.headers["Location"] == reverse("catalogue-list", args=[kept.public_id])
    page = told(owner_client.get(agreed.headers["Location"]))
    assert "2 items" in page
    moved = owner_client.post(reverse("catalogue-raise"), {**sent, "mark": mark})
    assert moved.status_code == 422
    assert "prices changed since they were shown" in told(moved)
    owner_client.post(reverse("catalogue-list-withdraw", args=[kept.public_id]))
    assert not PriceList.objects.exists()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"percent": "0"}, "accepted is a change from -90 to 300 %"),
        ({"percent": "-95"}, "greater than or equal to -90"),
        ({"percent": ""}, "nothing typed; accepted is a change from -90 to 300 %"),
        ({"name": ""}, "Name of the list: nothing typed"),
        ({"valid_from": "someday"}, "“someday” typed; accepted is a day from 2026-06-09 on"),
        ({"kind": "teapot"}, "“teapot” chosen; accepted is"),
    ],
)
def test_a_raise_that_cannot_be(owner_client: Any, shelved: Any, changes: dict[str, str], words: str) -> None:
    sent = {"kind": "", "percent": "5", "step": "1", "name": "2027", "valid_from": "2027-01-01", **changes}
    response = owner_client.post(reverse("catalogue-raise"), sent)
    assert response.status_code == 422
    assert words in told(response)


def test_the_file_of_what_is_found(office_client: Any, shelved: Any) -> None:
    response = office_client.get(reverse("catalogue-download"), {"kind": "jacket"})
    assert response.headers["Content-Disposition"] == 'attachment; filename="catalogue-2026-06-09.csv"'
    table = read_table(response.content)
    assert [row.cells[0] for row in table.rows] == ["jacket-120"]
    comma = office_client.get(reverse("catalogue-download"), {"kind": "jacket", "marks": "comma"})
    assert read_table(comma.content).decimal == ","
    headings = read_table(office_client.get(reverse("catalogue-blank"), {"kind": "ro"}).content).headers
    assert "recovery" in headings
    assert office_client.get(reverse("catalogue-blank"), {"kind": "teapot"}).status_code == 404


def test_a_file_is_looked_at_taken_over_and_undone(owner_client: Any, shelved: Any, today: Any) -> None:
    response = upload(owner_client, "code,price\nuv-a-42,1100\nsoft-42,1140\n")
    file = CatalogueFile.objects.get()
    address = reverse("catalogue-file", args=[file.public_id])
    assert response.headers["Location"] == address
    page = told(owner_client.get(address))
    assert "price 1060.00 → becomes 1100.00" in page
    assert "Take over: 0 new, 1 changed" in page
    assert price_of(shelved["uv-a-42"], today).price == Decimal("1060.00")
    owner_client.post(address, {"do": "take"})
    assert price_of(items().get(code="uv-a-42"), today).price == Decimal("1100.00")
    assert "taken over 9 Jun 2026" in told(owner_client.get(address))
    owner_client.post(address, {"do": "undo"})
    assert price_of(items().get(code="uv-a-42"), today).price == Decimal("1060.00")
    assert "chosen; accepted is take, undo or forget" in told(
        owner_client.post(address, {"do": "teapot"}, follow=True)
    )


def test_a_refused_row_holds_the_button_back(owner_client: Any, shelved: Any) -> None:
    upload(owner_client, "code,rated_dose\nuv-a-42,4000\n")
    address = reverse("catalogue-file", args=[CatalogueFile.objects.get().public_id])
    page = owner_client.get(address)
    assert "rated_dose is 4000.0, accepted is at least 10 and at most 400 mJ/cm2" in told(page)
    assert 'value="take"' not in page.content.decode()
    assert "1 rows are refused" in told(owner_client.post(address, {"do": "take"}, follow=True))
    owner_client.post(address, {"do": "forget"})
    assert not CatalogueFile.objects.exists()


@pytest.mark.parametrize(
    ("text", "words"), [("", "an empty file"), ("name\nx\n", "a row of headings"), ("\x00\x01", "no text")]
)
def test_a_file_that_cannot_be_read(owner_client: Any, shelved: Any, text: str, words: str) -> None:
    response = upload(owner_client, text)
    assert response.status_code == 422
    assert words in told(response)
    assert not CatalogueFile.objects.exists()


def test_a_file_that_is_too_large_and_none_at_all(owner_client: Any, shelved: Any) -> None:
    assert "accepted is a file of at most 2 MB" in told(upload(owner_client, "x" * 2_000_001))
    assert "no file chosen; accepted is a CSV or XLSX file" in told(
        owner_client.post(reverse("catalogue-upload"), {})
    )


def test_another_dealers_items_lists_and_files_are_not_there(
    owner_client: Any, shelved: Any, other_dealer: Any
) -> None:
    with dealer_scope(other_dealer):
        theirs = shelf(other_dealer, codes=("uv-a-42",))["uv-a-42"]
        theirs.name = "Secret lamp"
        theirs.save()
        price_list = factories.PriceListFactory(dealer=other_dealer)
        file = factories.CatalogueFileFactory(dealer=other_dealer)
    for address in (
        url("catalogue-item", theirs),
        url("catalogue-item-edit", theirs),
        f"{reverse('catalogue-new')}?kind=uv&copy={theirs.public_id}",
        reverse("catalogue-list", args=[price_list.public_id]),
        reverse("catalogue-file", args=[file.public_id]),
    ):
        assert owner_client.get(address).status_code == 404, address
    assert "Secret lamp" not in told(owner_client.get(reverse("catalogue")))
    assert b"Secret lamp" not in owner_client.get(reverse("catalogue-download")).content
