"""The parts every page is built from: fields that explain themselves, errors with links, figures with words."""

from __future__ import annotations

import re
from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest
from django import forms
from django.core.paginator import Paginator
from django.template import Context, Template
from django.template.loader import render_to_string
from django.test import RequestFactory

from customers.people.permissions import allowed
from customers.water_tests.models import WaterTest
from service.office.templatetags import look
from service.office.timelines import TimeChart, TimeRow
from sizing.drawing.chart_values import CostBar, HistoryPoint, MarginLine, ResultKind
from sizing.drawing.timeline import Timeline, TimeSeries
from tests.drawing import paths


class FlowForm(forms.Form):
    drawn = forms.CharField(label="Water drawn", help_text="From cut-out to cut-in.")
    power = forms.ChoiceField(
        label="Power", choices=[("grid", "Grid"), ("sun", "12 V solar")], widget=forms.RadioSelect
    )
    boat = forms.BooleanField(label="Boat only", required=False)
    note = forms.CharField(label="Remarks", required=False)


def wrong() -> FlowForm:
    form = FlowForm({"drawn": "", "note": "<b>x</b>"})
    assert not form.is_valid()
    return form


def test_a_field_names_its_unit_hint_and_error() -> None:
    html = render_to_string("parts/field.html", {"field": wrong()["drawn"], "unit": "L"})
    assert '<label for="id_drawn">Water drawn<span class="sr">, L</span>' in html
    described = re.search(r'aria-describedby="([^"]+)"', html)
    assert described is not None
    for ident in described[1].split(" "):
        assert f'id="{ident}"' in html
    assert 'aria-invalid="true"' in html


def test_a_group_is_a_fieldset_and_a_box_stands_before_its_label() -> None:
    form = wrong()
    group = render_to_string("parts/field.html", {"field": form["power"]})
    assert group.count("<legend>") == 1
    assert "id_power_error" in group
    box = render_to_string("parts/field.html", {"field": form["boat"]})
    assert box.index("checkbox") < box.index("<label")


def test_the_summary_links_to_fields_that_exist_and_escapes() -> None:
    form = wrong()
    html = render_to_string("parts/form.html", {"form": form, "action": "Save"}, request=RequestFactory().get("/"))
    targets = re.findall(r'<li><a href="#([^"]+)">', html)
    assert len(targets) == 2
    for target in targets:
        assert f'id="{target}"' in html
    assert html.index("data-error-summary") < html.index("<form")
    assert "<b>x</b>" not in html
    assert "csrfmiddlewaretoken" in html


def test_a_form_without_errors_has_no_summary() -> None:
    assert "data-error-summary" not in render_to_string("parts/errors.html", {"form": FlowForm()})


def test_the_notice_counts_clear_samples_in_words() -> None:
    notice = {"heading": "Do not drink the water at <Alder>", "text": "Total coliform present.", "clears": 1}
    html = render_to_string("parts/notice.html", {"notice": {**notice, "clears_needed": 2}})
    assert "1 of 2" in html
    assert html.count('<i class="done">') == 1
    assert "<Alder>" not in html
    assert "<a " not in html  # no action given, no empty button


def test_a_state_is_mark_and_word() -> None:
    html = Template('{% load look %}{% state_mark "overdue" %}').render(Context())
    assert "<svg" in html
    assert "overdue</span>" in html
    with pytest.raises(ValueError, match="asleep"):
        look.state_mark("asleep")


def test_the_path_of_a_page_has_pictures_and_the_list() -> None:
    html = render_to_string("path/figure.html", {"path": paths.lake_cabin("4")})
    assert html.count('role="img"') == 2
    assert html.count("<li class=") == len(look.path_items(paths.lake_cabin("4"))) + html.count('<li class="reading')
    idents = re.findall(r'\sid="([^"]+)"', html)
    assert len(idents) == len(set(idents))
    for words in ("past the health limit, none", "was due 30 Sep 2025", "kPa at peak flow", "expected"):
        assert words in html
    assert len(html.encode()) < 90_000


def test_hostile_names_stay_words_in_the_list() -> None:
    hostile = paths.one_stage()
    object.__setattr__(hostile.stages[0], "name", "<script>alert(1)</script>")
    html = render_to_string("path/figure.html", {"path": hostile})
    assert "<script" not in html


def test_a_value_is_water_with_its_unit_and_a_missing_one_says_so() -> None:
    assert look.value(23.44, "flow", "metric") == '<em class="nowrap">23.4\u00a0L/min</em>'
    assert "not known" in look.value(None, "flow")


def test_figures_have_their_table_beside_them() -> None:
    point = HistoryPoint(date(2025, 6, 1), ResultKind.BELOW, "<0.02", 0.02)
    timeline = Timeline("Iron", "mg/L", (TimeSeries("raw water", "square", (point,)),), date(2026, 6, 9))
    test = WaterTest(place="raw", sampled_on=date(2025, 6, 1))
    line = TimeRow(test, "raw water", "<0.02", "mg/L", "no limit set", over=False)
    html = render_to_string("office/evidence/chart.html", {"chart": TimeChart("h1", "iron", timeline, (line,))})
    assert "&lt;0.02</b>" in html
    assert "no limit set" in html
    bar = CostBar("A", (6000, 2000, 1000, 500, 500), ("6,000", "2,000", "1,000", "500", "500"), "$10,000")
    costs = render_to_string("parts/costbars.html", {"bars": [bar], "ident": "c1"})
    assert costs.count("<td") == 6
    assert "$10,000" in costs


def test_margin_and_odds_parts_draw() -> None:
    line = MarginLine("Iron", 0.14, 0.3, "max", "0.14 of 0.3 mg/L", "0.16", 0, 0.45)
    assert "0.14 of 0.3 mg/L, margin 0.16" in render_to_string("parts/margin.html", {"lines": [line], "ident": "m"})
    assert "48 in 50" in render_to_string("parts/odds.html", {"share": 0.96, "ident": "o"})


def test_the_pager_keeps_the_search() -> None:
    request = RequestFactory().get("/households/?q=alder&page=2")
    page: Any = Paginator(range(90), 30).page(2)
    html = render_to_string("parts/pager.html", {"page": page}, request=request)
    assert "?q=alder&amp;page=1" in html
    assert "?q=alder&amp;page=3" in html
    assert "page 2 of 3, 90 in all" in html


def test_the_navigation_marks_where_one_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(look, "reverse", lambda name: f"/{name}/")
    owner = SimpleNamespace(may=lambda action: allowed("owner", action))
    items = look.office_nav({"request": None, "actor": owner}, "water-test-grid")["items"]
    assert [str(item["label"]) for item in items if item["current"]] == ["Households"]
    assert items[0]["href"] == "/today/"
    assert items[-1]["href"] == "/settings/"
    office = SimpleNamespace(may=lambda action: allowed("office", action))
    reached = {item["href"] for item in look.office_nav({"actor": office})["items"]}
    assert "/causes/" in reached
    assert "/settings/" not in reached
    technician = SimpleNamespace(may=lambda action: allowed("technician", action))
    assert look.office_nav({"actor": technician})["items"] == []
    assert look.office_nav({})["items"] == []
