"""Small calculations, through their pages: published examples, refusals, units there and back, and what they cost."""

from __future__ import annotations

import re
from html import unescape
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags

from service.office.reckon_form import in_other_units
from service.office.reckoning import CALCULATORS
from sizing.engine.power import days_to_refill
from tests import factories

#: Answers that are enough for each calculation, in US units.
WHOLE = {
    "flow": {"method": "drawdown", "litres_1": "15", "seconds_1": "75"},
    "tank": {"tank_l": "20", "cut_in_kpa": "40", "cut_out_kpa": "60"},
    "pressure": {
        "cut_in_kpa": "40", "cut_out_kpa": "60", "flow_l_min": "5", "pipe_material": "copper", "pipe_nominal": "3/4",
        "run_m": "66.6667", "rise_m": "20", "outlet": "shower, plain", "water_c": "60",
    },
    "backwash": {"medium": "multilayer", "tank_m": "12", "water_c": "59", "pump_l_min": "10"},
    "softener": {
        "hardness": "10", "iron": "0.5", "manganese": "1", "people": "4", "person_l_d": "80", "resin_l": "1",
        "salt_kg": "6", "reserve_percent": "25",
    },
    "uv": {
        "rated_l_min": "12", "rated_uvt": "85", "rated_dose": "40", "unit_class": "A", "flow_l_min": "12",
        "uvt": "85", "path_mm": "10",
    },
    "shock": {
        "casing_m": "12", "water_column_m": "100", "dose_mg_l": "50", "bleach_percent": "12",
        "granules_percent": "65",
    },
    "sweat": {"water_c": "46.4", "air_c": "104", "humidity": "14"},
    "power": {
        "watts_1": "40", "latitude": "45", "longitude": "-79.4", "tilt": "0", "clearness": "clear",
        "first_month": "12", "last_month": "12", "dark_days": "3", "chemistry": "lead_acid", "battery_c": "80",
        "altitude_m": "984.252",
    },
}  # fmt: skip
NAMES = [calculator.name for calculator in CALCULATORS]


def ask(client: Client, name: str, system: str = "us", **changed: str) -> Any:
    answers = {**WHOLE[name], **changed, "units": system, "go": "1"}
    return client.get(reverse(f"reckon-{name}"), {key: value for key, value in answers.items() if value})


def page_of(answer: Any) -> str:
    return answer.content.decode()


def words_of(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(strip_tags(html))).replace("\xa0", " ")


def value_of(answer: Any, symbol: str, unit: str) -> float:
    """The value of a worksheet line as the page shows it; the unit must be the one expected."""
    assert answer.status_code == 200, words_of(page_of(answer))
    rows = re.findall(r'<th scope="row">([^<]*)</th><td>[^<]*</td><td class="num">(.*?)</td>', page_of(answer))
    shown = {key: words_of(value) for key, value in rows}[symbol]
    number, _, written = shown.partition(" ")
    assert written == unit
    return float(number.replace(",", "").replace("−", "-"))


@pytest.mark.parametrize("name", NAMES)
def test_each_page_stands_empty_and_answers(office_client: Client, name: str) -> None:
    empty = office_client.get(reverse(f"reckon-{name}"))
    assert empty.status_code == 200
    assert "Reckon" in words_of(page_of(empty))
    assert 'class="answer"' not in page_of(empty)
    answer = ask(office_client, name)
    assert answer.status_code == 200
    html = page_of(answer)
    assert 'class="answer"' in html
    assert "sheet-steps" in html
    assert " style=" not in html
    assert "<script>" not in html
    calculator = next(c for c in CALCULATORS if c.name == name)
    for caution in calculator.cautions:
        assert str(caution) in unescape(html)
    assert "safe to drink" not in html


def test_the_list_names_every_calculation(office_client: Client) -> None:
    html = page_of(office_client.get(reverse("reckon")))
    for name in NAMES:
        assert f'href="{reverse(f"reckon-{name}")}"' in html


def test_flow_test(office_client: Client) -> None:
    # Computed: gpm = gallons / refill seconds x 60 (the trade's definition): 15 gal in 75 s is 12 gpm.
    answer = ask(office_client, "flow")
    assert value_of(answer, "q", "gpm") == pytest.approx(12.0, abs=0.05)
    # The same with a second and third run of 16 gal in 90 s and 6 gal in 53 s: mean of 12, 10.67 and 6.79.
    answer = ask(office_client, "flow", litres_2="16", seconds_2="90", litres_3="6", seconds_3="53")
    assert value_of(answer, "q", "gpm") == pytest.approx(9.8, abs=0.06)


def test_pressure_tank(office_client: Client) -> None:
    # Computed: Boyle with absolute pressures, 20 gal, 40/60, charge 38 psi: 20 x (52.696/54.696 - 52.696/74.696).
    assert value_of(ask(office_client, "tank"), "Vd", "gal") == pytest.approx(5.159, abs=0.05)
    # 85 gal, 30/50, charge 28 psi at 6,000 ft, where the air weighs 11.8 psi: 26.1 gal (a trade magazine's example).
    high = ask(office_client, "tank", tank_l="85", cut_in_kpa="30", cut_out_kpa="50", altitude_m="6000")
    assert value_of(high, "Vd", "gal") == pytest.approx(26.1, abs=0.15)


def test_a_charge_above_cut_in_is_flagged_in_the_readers_units(office_client: Client) -> None:
    words = words_of(page_of(ask(office_client, "tank", precharge_kpa="42")))
    assert "The air charge (42.1 psi) is above cut-in (40.0 psi)" in words or "(42.0 psi) is above" in words
    assert "the tank runs empty before the pump starts" in words
    assert "kPa) is above" not in words


def test_pressure_along_the_path(office_client: Client) -> None:
    answer = ask(office_client, "pressure")
    # Computed by an independent Darcy-Weisbach with IAPWS water: 3/4 in type L at 5 gpm and 60 degF loses 3.02 psi in
    # 100 ft; 66.67 ft with half as much again for fittings is 100 ft.
    assert value_of(answer, "dpf", "psi") == pytest.approx(3.02, abs=0.06)
    # Computed: 0.4335 psi to the foot.
    assert value_of(answer, "dpz", "psi") == pytest.approx(8.67, abs=0.05)
    # Published: IPC 2018 Table 604.3, a plain shower wants 8 psi flowing.
    assert value_of(answer, "pmin", "psi") == 8.0
    assert value_of(answer, "p", "psi") == pytest.approx(40 - 3.02 - 8.67, abs=0.15)


def test_losses_and_fixtures_on_the_path(office_client: Client) -> None:
    # Loss goes with the square of the flow: 8 psi at 10 gpm is 2 psi at 5 gpm.
    answer = ask(office_client, "pressure", stage_1="softener", loss_1="8", rated_1="10")
    assert value_of(answer, "d1", "psi") == pytest.approx(2.0, abs=0.05)
    # Computed by full enumeration of the study's probabilities: a kitchen tap alone is 2.2 gpm.
    alone = ask(office_client, "pressure", flow_l_min="", count_kitchen_faucet="1")
    assert value_of(alone, "Qp", "gpm") == pytest.approx(2.2, abs=0.05)


def test_backwash(office_client: Client) -> None:
    answer = ask(office_client, "backwash")
    # Common practice 15 gpm/ft2 on a 12 in tank of 0.7854 ft2 at the 15 degC the rate stands for.
    assert value_of(answer, "Qb", "gpm") == pytest.approx(15 * 0.7854, abs=0.06)
    assert "The backwash wants 11.8 gpm, the pump gives 10.0 gpm" in words_of(page_of(answer))
    # From memory: 5 degC water needs 0.70 to 0.85 of the flow at 20 degC.
    cold, warm = (
        value_of(ask(office_client, "backwash", medium="sand", water_c=f), "Qb", "gpm") for f in ("41", "68")
    )
    assert 0.70 <= cold / warm <= 0.86


def test_softener(office_client: Client) -> None:
    answer = ask(office_client, "softener")
    # Common practice, a worked example: 10 gpg with 0.5 mg/L iron and 1.0 mg/L manganese at 2 gpg each is 13 gpg,
    # and 320 gal a day of it for a week is 29,120 grains.
    assert value_of(answer, "Hc", "gpg") == pytest.approx(13.0, abs=0.05)
    assert value_of(answer, "L", "grains") * 7 == pytest.approx(29_120, rel=0.002)
    # Published: Illinois 35 IAC 604.805(c), at most 20,000 grains/ft3 at 6 lb/ft3.
    assert value_of(answer, "C", "grains") == pytest.approx(20_000, rel=0.02)
    # Computed: 2 Na for each CaCO3, 7.86 mg/L a gpg (trade pages print 7.86); 1 % slips through.
    assert value_of(answer, "Na", "mg/L") == pytest.approx(78.6 * 0.99, abs=0.3)


def test_uv_capacity(office_client: Client) -> None:
    answer = ask(office_client, "uv")
    assert value_of(answer, "D", "mJ/cm²") == pytest.approx(40.0, abs=0.05)
    # Published: EPA 815-R-20-003 Table B-9, 40 mJ/cm2 earns 0.5 log of viruses and 4 log of Cryptosporidium.
    assert value_of(answer, "log virus", "log10") == 0.5
    assert value_of(answer, "log cryptosporidium", "log10") == 4.0
    # Published: 40 % over 100 mm is 91 % per cm (Beer-Lambert).
    assert value_of(ask(office_client, "uv", uvt="40", path_mm="100"), "T", "%") == pytest.approx(91.2, abs=0.06)
    # Computed: a 2.5 cm gap passes (75/85)^2.5 = 0.731 of the rated light.
    assert value_of(ask(office_client, "uv", uvt="75"), "Q", "gpm") == pytest.approx(12 * 0.731, abs=0.06)


def test_shock_dose(office_client: Client) -> None:
    answer = ask(office_client, "shock")
    # Published: Indiana 327 IAC 8-3.4-24 Table 24-1, 100 ft of 12 in casing takes 32.0 fl oz of 12 trade % bleach or
    # 6.0 oz of 65 % granules (50 mg/L).
    assert value_of(answer, "Vb", "US fl oz") == pytest.approx(32.0, abs=0.8)
    assert value_of(answer, "mg", "oz") == pytest.approx(6.0, abs=0.1)
    # Published: MIL-HDBK-1164 Table 1, 5.88 gal to the foot of 12 in casing.
    assert value_of(answer, "Vw", "gal") == pytest.approx(588, abs=1)
    words = words_of(page_of(answer))
    for held in ("acid", "unscented", "Bypass", "septic", "Do not drink"):
        assert held in words
    strong = words_of(page_of(ask(office_client, "shock", dose_mg_l="300")))
    assert "300 mg/L is outside the planning band" in strong


def test_condensation(office_client: Client) -> None:
    # Published: ASHRAE Fundamentals 2017 ch. 1 Example 1, air of 40 degC at 14 % has its dew point at 7 degC.
    answer = ask(office_client, "sweat")
    assert value_of(answer, "Td", "°F") == pytest.approx(7 * 1.8 + 32, abs=1)
    # Computed: t = k/h (Td - Tw)/(Ta - Td) with the Magnus dew point: 6.82 mm at 25 degC, 60 %, over 8 degC.
    metric = ask(office_client, "sweat", "metric", water_c="8", air_c="25", humidity="60", jacket_m="5")
    assert value_of(metric, "t", "mm") == 7
    assert "it will drip" in words_of(page_of(metric))


def test_power(office_client: Client) -> None:
    # Computed by definition: 40 W day and night for 3 days at half depth of 12 V is 480 Ah (80 degF, no allowance).
    answer = ask(office_client, "power")
    assert value_of(answer, "C", "Ah") == 480.0
    # Common practice: the multiplier table gives 1.30 at 40 degF.
    assert value_of(ask(office_client, "power", battery_c="40"), "C", "Ah") == pytest.approx(624.0, abs=0.5)
    # Computed with pvlib 0.16.1: 45 N, 79.4 W, 300 m, 21 December, level: 1.6388 kWh/m2 (Ineichen, turbidity 3).
    assert value_of(answer, "G", "kWh/m² a day") == pytest.approx(1.6388, rel=0.01)


def test_days_to_fill_again_by_hand() -> None:
    # By hand: 960 Wh a day for 3 dark days is 2,880 Wh; 1,200 Wh made leaves 240 a day, 12 days.
    assert days_to_refill(960.0, 3.0, 1200.0) == pytest.approx(12.0)
    assert days_to_refill(960.0, 3.0, 960.0) == float("inf")


@pytest.mark.parametrize(
    ("name", "changed", "field", "said"),
    [
        ("flow", {"seconds_1": "soon"}, "Time, run 1", "“soon” typed; accepted is a number from 1 to 7200 s"),
        ("flow", {"litres_2": "12"}, "Time, run 2", "nothing typed; accepted is water and time"),
        ("tank", {"cut_out_kpa": "39"}, "Cut-out", "“39” typed; accepted is more than 40 psi"),
        ("pressure", {"cut_out_kpa": "30"}, "Cut-out", "“30” typed; accepted is more than cut-in"),
        ("pressure", {"flow_l_min": ""}, "Peak flow", "nothing typed; accepted is a peak flow, or the fixtures"),
        ("pressure", {"stage_1": "UV"}, "Loss, stage 1", "nothing typed; accepted is the pressure lost"),
        ("backwash", {"tank_m": "90"}, "Tank diameter", "“90” typed; accepted is a number from 4 to 72 in"),
        ("softener", {"salt_kg": "30"}, "Salt each regeneration", "“30” typed; accepted is a number from 4 to 20 lb"),
        ("uv", {"uvt": "120"}, "Transmittance of the water", "“120” typed; accepted is a number from 1 to 100 %"),
        ("shock", {"casing_m": ""}, "Casing, inside diameter", "nothing typed; accepted is a number from"),
        ("shock", {"bleach_percent": "12", "bleach_days": "1000"}, "Bleach", "“12” typed; accepted is"),
        ("sweat", {"humidity": "0.6"}, "Relative humidity", "“0.6” typed; accepted is a number from 1 to 100 %"),
        ("power", {"cable_m": "1600", "watts_1": "9000"}, "Cable, one way", "“1600” typed; accepted is"),
        ("power", {"clearness": "dim"}, "Sky", "“dim” chosen; accepted is clear"),
    ],
)
def test_a_refusal_names_field_value_and_what_would_do(
    office_client: Client, name: str, changed: dict[str, str], field: str, said: str
) -> None:
    answer = ask(office_client, name, **changed)
    assert answer.status_code == 422
    html = page_of(answer)
    assert "<title>Error:" in html
    assert f"{field}: {said}" in words_of(html)
    assert 'class="answer"' not in html
    for key, typed in changed.items():
        if typed and key != "clearness":
            assert f'name="{key}" value="{typed}"' in html


@pytest.mark.parametrize("name", NAMES)
def test_changing_the_units_keeps_every_number_there_and_back(office_client: Client, name: str) -> None:
    sent = {**WHOLE[name], "units": "us", "go": "1"}
    there = office_client.get(reverse(f"reckon-{name}"), {**sent, "show": "metric"})
    assert there.status_code == 302
    moved = {key: values[0] for key, values in parse_qs(urlsplit(there.url).query).items()}
    assert moved["units"] == "metric"
    assert office_client.get(there.url).status_code == 200
    back = office_client.get(reverse(f"reckon-{name}"), {**moved, "show": "us"})
    assert {key: values[0] for key, values in parse_qs(urlsplit(back.url).query).items()} == sent


@pytest.mark.parametrize("typed", ["0", "15", "0.5", "12.75", "98.6", "-4", "1234.5", "0.07"])
@pytest.mark.parametrize("quantity", ["volume", "pressure", "temperature", "length_small", "hardness", "flow"])
def test_a_number_comes_back_as_it_was_typed(typed: str, quantity: str) -> None:
    there = in_other_units(typed, quantity, "us", "metric")
    assert in_other_units(there, quantity, "metric", "us") == typed


def test_words_stay_words_when_the_units_change(office_client: Client) -> None:
    moved = office_client.get(reverse("reckon-tank"), {"tank_l": "big", "units": "us", "show": "metric"})
    assert "tank_l=big" in moved.url
    page = office_client.get(moved.url)
    assert page.status_code == 200
    assert 'value="big"' in page_of(page)


def test_the_dealers_units_unless_the_address_says_otherwise(office_client: Client, dealer: Any) -> None:
    assert "Numbers in metric units." in page_of(office_client.get(reverse("reckon-tank")))
    dealer.units = "us"
    dealer.save()
    assert "Numbers in US units." in page_of(office_client.get(reverse("reckon-tank")))
    assert "Numbers in metric" in page_of(office_client.get(reverse("reckon-tank"), {"units": "metric"}))


def test_a_household_fills_in_what_its_file_knows(office_client: Client, dealer: Any) -> None:
    place = factories.SiteFactory(
        dealer=dealer, tank_volume_l=80.0, cut_in_kpa=200.0, cut_out_kpa=340.0, casing_mm=152.0, name="Alder Point"
    )
    html = page_of(office_client.get(reverse("reckon-tank"), {"site": place.public_id}))
    assert 'name="tank_l" value="80"' in html
    assert 'name="cut_in_kpa" value="200"' in html
    assert "Alder Point" in html
    assert 'name="casing_m" value="152"' in page_of(
        office_client.get(reverse("reckon-shock"), {"site": place.public_id})
    )
    listed = page_of(office_client.get(reverse("reckon"), {"site": place.public_id}))
    assert f"{reverse('reckon-tank')}?site={place.public_id}" in listed


def test_a_strangers_household_is_not_there(office_client: Client, other_site: Any) -> None:
    for address in (reverse("reckon"), reverse("reckon-tank")):
        assert office_client.get(address, {"site": other_site.public_id}).status_code == 404
        assert office_client.get(address, {"site": "nonsense"}).status_code == 404


def test_only_the_desk_reckons(technician_client: Client, customer_client: Client) -> None:
    for client in (technician_client, customer_client):
        assert client.get(reverse("reckon-tank")).status_code == 403
    assert Client().get(reverse("reckon-tank")).status_code == 302


@pytest.mark.parametrize("name", NAMES)
def test_an_answer_costs_no_more_queries_than_an_empty_page(
    office_client: Client, name: str, django_assert_max_num_queries: Any
) -> None:
    office_client.get(reverse("reckon"))
    with django_assert_max_num_queries(6):
        office_client.get(reverse(f"reckon-{name}"))
    with django_assert_max_num_queries(6):
        ask(office_client, name)


def test_a_chart_has_its_table_beside_it(office_client: Client) -> None:
    for name, cells in (("uv", ("Dose against transmittance and flow", "85 %")), ("power", ("Dec", "Days to fill"))):
        html = page_of(ask(office_client, name))
        svg, table = html.index('<svg class="fig"'), html.index('<table class="beside">')
        assert svg < table
        assert "<desc" in html[svg:table]
        for cell in cells:
            assert cell in html[table:]
