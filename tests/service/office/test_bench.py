"""The design bench page by page: looked at, worked on with and without htmx, pinned, deleted, compared, quoted."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from service.jobs.models import Job
from sizing.engine.design import StageKind
from sizing.proposals.adapters import read_raw
from sizing.proposals.forms import WishesForm
from sizing.proposals.goals import usual_wishes
from sizing.proposals.handwork import begin_line, change_line
from sizing.proposals.keeping import name_line
from sizing.proposals.line import Edit
from sizing.proposals.models import Proposal, ProposedTrain
from sizing.proposals.queries import standing, train_value
from sizing.quotes.models import Quote
from tests import factories
from tests.sizing.designed import design, few, measured, stocked

HTMX = {"HX-Request": "true"}


@pytest.fixture
def proposal(dealer: Any, clock: Any) -> Proposal:
    stocked(dealer)
    return design(measured(dealer, name="Quern Lane"), clock)


@pytest.fixture
def first(proposal: Proposal) -> ProposedTrain:
    row = standing(proposal).first()
    assert row is not None
    return row


def page(name: str, *ids: Any) -> str:
    return reverse(name, args=[getattr(one, "public_id", one) for one in ids])


def text_of(response: Any) -> str:
    return response.content.decode()


def place_of(row: ProposedTrain, kind: StageKind) -> int:
    return [stage.kind for stage in train_value(row).stages].index(kind)


def broken_line(first: ProposedTrain, now: Any) -> ProposedTrain:
    edit = Edit("remove", place_of(first, StageKind.SOFTENER))
    return change_line(train=first, edit=edit, seen=first.version, actor_name="Edda", now=now).row


def whole(sum_of_money: Decimal) -> str:
    """Rounded to the whole as a bill is, halves up."""
    return f"{sum_of_money.quantize(Decimal(1), ROUND_HALF_UP):,}"


def test_the_bench_shows_every_line_with_its_numbers(office_client: Client, proposal: Proposal, clock: Any) -> None:
    first = standing(proposal).first()
    assert first is not None
    broken = broken_line(first, clock)
    text = text_of(office_client.get(page("design", proposal)))
    for row in standing(proposal):
        assert f'id="line-{row.letter}"' in text
        assert f"{whole(row.first_cost)}</span>" in text
        assert f"{whole(row.whole_life_cost)} over" in text
        assert f">${whole(row.whole_life_cost)}" in text  # the bar's sum is the same number
    assert "plausible peaks hold every limit" in text
    assert f"Quote {first.letter}" in text
    assert f"Quote {broken.letter}" not in text
    assert f"Mend {broken.letter}" in text
    assert re.search(r"breaks \d limit", text)
    assert "Hardness into UV" in text


def test_the_number_of_lines_costs_no_query(office_client: Client, first: ProposedTrain, clock: Any) -> None:
    url = page("design", first.proposal)
    office_client.get(url)
    with CaptureQueriesContext(
        connection,
    ) as few_lines:
        office_client.get(url)
    for _line in range(4):
        broken_line(first, clock)
    with CaptureQueriesContext(connection) as many_lines:
        office_client.get(url)
    assert len(many_lines) == len(few_lines) <= 20
    raw = [q["sql"] for q in many_lines if "customers_result" in q["sql"]]
    assert len(raw) == 1  # the raw water is read once


def test_a_change_without_script_lands_on_the_new_line(office_client: Client, first: ProposedTrain) -> None:
    place = place_of(first, StageKind.SOFTENER)
    response = office_client.post(page("design-line", first), {"do": f"remove:{place}", "seen": first.version})
    made = ProposedTrain.objects.get(by_hand=True)
    assert response.status_code == 302
    assert response.headers["Location"].startswith(page("design-line", made))
    text = text_of(office_client.get(response.headers["Location"]))
    assert re.search(r"Breaks \d limit", text)
    uv = place_of(made, StageKind.UV) + 1
    stage = text[text.index(f'id="stage-{uv}"') :]
    assert "its feed limit is" in stage[: stage.index("</li>")]  # said at the stage concerned
    assert "A line that breaks a limit is not quoted" in text


def test_a_change_by_htmx_answers_with_the_part_and_keeps_the_focus(
    office_client: Client, first: ProposedTrain
) -> None:
    place = place_of(first, StageKind.SOFTENER)
    data = {"do": f"larger:{place}", "seen": first.version}
    response = office_client.post(page("design-line", first), data, headers=HTMX)
    made = ProposedTrain.objects.get(by_hand=True)
    text = text_of(response)
    assert response.status_code == 200
    assert response.headers["HX-Push-Url"] == page("design-line", made)
    assert "<html" not in text
    assert text.count("data-focus") == 1
    assert re.search(rf'id="larger-{place}"[^>]* data-focus', text)
    assert 'id="said" hx-swap-oob="innerHTML"' in text
    assert f'name="seen" value="{made.version}"' in text
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(("do", "focus"), [("later:0", "later-1"), ("remove:1", "others-1"), ("two:0", "pair-0")])
def test_the_focus_goes_with_the_stage(
    office_client: Client, first: ProposedTrain, clock: Any, do: str, focus: str
) -> None:
    bed = next(p for p in few() if p.kind is StageKind.BACKWASH)
    softener = next(p for p in few() if p.kind is StageKind.SOFTENER)
    lamp = next(p for p in few() if p.kind is StageKind.UV)
    row = begin_line(proposal=first.proposal, units=(), name="n", actor_name="E", now=clock)
    for product in (bed, softener, lamp):
        row = change_line(
            train=row, edit=Edit("add", 0, product.code), seen=row.version, actor_name="E", now=clock
        ).row
    response = office_client.post(page("design-line", row), {"do": do, "seen": row.version}, headers=HTMX)
    assert re.search(rf'id="{focus}"[^>]* data-focus', text_of(response))


def test_taking_the_last_change_back_leaves_the_focus_on_the_page(
    office_client: Client, first: ProposedTrain, clock: Any
) -> None:
    row = broken_line(first, clock)
    row = change_line(train=row, edit=Edit("remove", 0), seen=row.version, actor_name="E", now=clock).row
    for focus in ("undo", "hl"):
        row.refresh_from_db()
        text = text_of(
            office_client.post(page("design-line", row), {"do": "undo", "seen": row.version}, headers=HTMX)
        )
        assert re.search(rf'id="{focus}"[^>]* data-focus', text)


def test_a_second_hand_is_told_and_nothing_is_lost(office_client: Client, first: ProposedTrain, clock: Any) -> None:
    row = broken_line(first, clock)
    data = {"do": "remove:0", "seen": row.version - 1}
    response = office_client.post(page("design-line", row), data)
    assert response.status_code == 409
    assert "Edda changed line" in text_of(response)
    assert "<title>Error:" in text_of(response)
    part = office_client.post(page("design-line", row), data, headers=HTMX)
    assert part.status_code == 200  # htmx swaps nothing else in
    assert "Nothing was changed" in text_of(part)
    kept = ProposedTrain.objects.get(pk=row.pk)
    assert (kept.version, kept.data) == (row.version, row.data)


@pytest.mark.parametrize(
    ("do", "words"),
    [
        ("larger:x", "accepted is its place in the line"),
        ("remove:99", "accepted is 1 to"),
        ("polish:0", "accepted is larger, smaller"),
        ("add::nothing-such", "accepted is the code of one in the catalogue"),
        ("", "accepted is larger, smaller"),
    ],
)
def test_what_no_button_asks_is_refused_in_words(
    office_client: Client, first: ProposedTrain, do: str, words: str
) -> None:
    response = office_client.post(page("design-line", first), {"do": do, "seen": first.version})
    assert response.status_code == 422
    assert words in text_of(response)
    assert not ProposedTrain.objects.filter(by_hand=True).exists()


def test_other_products_of_a_stage_are_listed_with_what_they_would_break(
    office_client: Client, first: ProposedTrain
) -> None:
    place = place_of(first, StageKind.UV)
    text = text_of(office_client.get(page("design-line", first) + f"?open={place}"))
    alike = [p for p in few() if p.kind is StageKind.UV]
    assert text.count(f'value="swap:{place}:') == len(alike) - 1
    assert "in the line" in text
    assert "holds every limit" in text
    assert "its feed limit is" in text or "is needed" in text


def test_products_are_found_as_they_are_typed(office_client: Client, first: ProposedTrain) -> None:
    text = text_of(office_client.get(page("design-find", first) + "?q=softener"))
    assert 0 < text.count('value="add::') <= 12
    assert "Why not?" in text
    assert 'value="add::' not in text_of(office_client.get(page("design-find", first) + "?q=zzz"))
    whole = text_of(office_client.get(page("design-line", first) + "?q=softener"))
    assert whole.count('value="add::') == text.count('value="add::')


def test_why_a_product_is_not_in_the_line(office_client: Client, first: ProposedTrain) -> None:
    url = page("design-why", first.proposal)
    held = train_value(first).stages[0].product
    assert "It stands in line" in text_of(office_client.get(f"{url}?code={held.code}"))
    smallest = min((p for p in few() if p.kind is StageKind.UV), key=lambda p: p.ratings["rated_flow_l_min"])
    text = text_of(office_client.get(f"{url}?code={smallest.code}"))
    assert "No line with it keeps every limit" in text or "Best with it" in text
    ro = next(p for p in few() if p.kind is StageKind.RO)
    asked = text_of(office_client.get(f"{url}?code={ro.code}"))
    if "Best with it" in asked:
        made = office_client.post(url, {"code": ro.code})
        row = ProposedTrain.objects.get(by_hand=True)
        assert made.headers["Location"] == page("design-line", row)
        assert ro.code in [s.product.code for s in train_value(row).stages]
    assert "no such product" in text_of(office_client.get(f"{url}?code=nothing-such"))
    assert text_of(office_client.get(f"{url}?q=softener")).count("Why not this?") > 0


def test_pinning_naming_deleting_and_bringing_back(office_client: Client, first: ProposedTrain) -> None:
    office_client.post(page("design-name", first), {"own_name": "The one Edda likes", "pinned": "on"})
    first.refresh_from_db()
    assert (first.own_name, first.pinned) == ("The one Edda likes", True)
    assert office_client.post(page("design-name", first), {"own_name": "x" * 61}).status_code == 422
    others = [row.letter for row in standing(first.proposal).exclude(pk=first.pk)]
    text = text_of(office_client.post(page("design-clear", first.proposal), follow=True))
    assert f"Deleted: {', '.join(others)}" in text
    assert [row.letter for row in standing(first.proposal)] == [first.letter]
    gone = first.proposal.trains.get(letter=others[0])
    office_client.post(page("design-back", gone))
    assert standing(first.proposal).filter(pk=gone.pk).exists()
    office_client.post(page("design-delete", first))
    assert standing(first.proposal).filter(pk=first.pk).exists()  # pinned stays
    office_client.post(page("design-delete", gone))
    assert not standing(first.proposal).filter(pk=gone.pk).exists()


def test_only_a_passing_line_is_quoted(office_client: Client, first: ProposedTrain, clock: Any) -> None:
    row = broken_line(first, clock)
    text = text_of(office_client.post(page("design-quote", row), follow=True))
    assert "breaks a limit" in text
    assert not Quote.objects.exists()
    assert office_client.post(page("design-quote", first)).status_code == 302
    assert Quote.objects.get().train_id == first.pk


def test_designing_again_compares_and_carries_what_is_pinned(
    office_client: Client, first: ProposedTrain, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = broken_line(first, clock)
    name_line(train=row, own_name="Without salt", pinned=True, actor_name="E", now=clock)
    later = clock + timedelta(minutes=10)
    factories.WaterTestFactory(site=first.proposal.site, results={"hardness": 200.0}, entered_at=later)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later + timedelta(minutes=5))
    stale = text_of(office_client.get(page("design", first.proposal)))
    assert "New since this design" in stale
    response = office_client.post(page("design-again", first.proposal), follow=True)
    new = Proposal.objects.exclude(pk=first.proposal_id).get()
    assert response.redirect_chain[-1][0] == page("design-against", new, first.proposal)
    text = text_of(response)
    assert "Hardness" in text
    assert "Without salt" in text
    assert "The same catalogue at the same prices" in text
    assert "Stage by stage" in text
    asked = text_of(office_client.get(page("design-against", new, first.proposal) + "?engine=1"))
    assert "the same line" in asked
    listed = text_of(office_client.get(page("design-list", new.site)))
    assert "Design 2" in listed
    assert "Design 1" in listed
    picked = f"?old={new.public_id}&new={first.proposal.public_id}"
    went = office_client.get(page("design-list", new.site) + picked)
    assert went.headers["Location"] == page("design-against", new, first.proposal)


def test_two_households_designs_are_not_compared(office_client: Client, first: ProposedTrain, clock: Any) -> None:
    other = design(measured(first.dealer, name="Elsewhere"), clock)
    assert office_client.get(page("design-against", other, first.proposal)).status_code == 404


def test_what_was_not_measured_can_be_booked(office_client: Client, first: ProposedTrain, today: Any) -> None:
    text = text_of(office_client.get(page("design", first.proposal)))
    assert "Not measured" in text
    address = re.search(r'href="([^"]*jobs/new/\?kind=sample[^"]*)"', text)
    assert address
    url = address[1].replace("&amp;", "&")
    form = text_of(office_client.get(url))
    what = re.search(r'name="what"[^>]*value="([^"]*)"', form)
    assert what
    assert what[1].startswith("Sample raw water for: ")
    plan = re.search(r'href="([^"]*/sampling/\?analytes=[^"]+)"', text)
    assert plan
    asked = re.search(r"analytes=([^&]+)", plan[1].replace("&amp;", "&"))
    assert asked
    planned = text_of(office_client.get(plan[1].replace("&amp;", "&")))
    for code in asked[1].split("%2C"):
        (box,) = re.findall(rf'<input[^>]*value="{code}"[^>]*>', planned)
        assert "checked" in box
    token = re.search(r'name="form_token"[^>]*value="([^"]*)"', form)
    assert token
    data = {"form_token": token[1], "kind": "sample", "what": what[1], "wanted_from": today.isoformat(), "hours": "1"}
    assert office_client.post(url.partition("?")[0], data).status_code == 302
    assert Job.objects.get().what == what[1]


def test_a_household_without_evidence_is_offered_the_visits(office_client: Client, site: Any) -> None:
    text = text_of(office_client.get(page("design-new", site)))
    assert "To be measured first" in text
    assert "kind=survey" in text
    assert "flow+test" in text
    assert "kind=sample" in text
    answer = office_client.post(page("design-new", site), {"pressure": "100", "years": "15"})
    assert answer.status_code == 422
    assert "Not measured yet: flow test" in text_of(answer)
    assert not Proposal.objects.exists()


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("pressure", "400", "contradicts the pressure switch"),
        ("pressure", "9999", "accepted is 55 to 400"),
        ("pressure", "", "accepted is a number"),
        ("ph_low", "9", "contradict each other"),
        ("ph_high", "15", "accepted is 0 to 14"),
        ("entry_hardness", "-1", "accepted is 0 or more"),
        ("years", "99", "40"),
    ],
)
def test_wishes_that_contradict_are_said_plainly(
    office_client: Client, first: ProposedTrain, field: str, typed: str, words: str
) -> None:
    data = {"pressure": "80", "years": "15", "ph_low": "6.5", "ph_high": "8.5", "entry_hardness": "60", field: typed}
    answer = office_client.post(page("design-new", first.proposal.site), data)
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert Proposal.objects.count() == 1


def test_a_wish_left_as_it_was_shown_is_asked_to_the_last_figure(dealer: Any, clock: Any) -> None:
    """60 mg/L as CaCO3 is shown as 3.51 gpg, which would come back as 60.1."""
    site = measured(dealer)
    raw = read_raw(site)
    wishes = replace(usual_wishes(site, raw.water), at_entry={"hardness": 60.0}, min_fixture_kpa=100.0)
    told = {
        "usual": wishes,
        "wishes": wishes,
        "water": raw.water,
        "system": "us",
        "worst": "shower",
        "cut_in_kpa": 275.0,
    }
    form = WishesForm({"entry_hardness": "3.51", "pressure": "14.5", "years": "15"}, **told)
    assert form.is_valid(), form.errors
    assert form.wishes().at_entry == {"hardness": 60.0}
    assert form.wishes().min_fixture_kpa == 100.0
    moved = WishesForm({"entry_hardness": "3", "pressure": "20", "years": "15"}, **told)
    assert moved.is_valid()
    assert moved.wishes().at_entry["hardness"] == pytest.approx(51.35, abs=0.01)  # 3 x 17.118
    assert moved.wishes().min_fixture_kpa == pytest.approx(137.9, abs=0.01)  # 20 x 6.89476


def test_technicians_and_strangers_stay_outside(
    technician_client: Client, other_office_client: Client, first: ProposedTrain
) -> None:
    for name in ("design-line", "design-find", "design-name"):
        assert technician_client.get(page(name, first)).status_code == 403
        assert other_office_client.get(page(name, first)).status_code == 404
    assert other_office_client.post(page("design-line", first), {"do": "remove:0", "seen": 0}).status_code == 404
    assert other_office_client.post(page("design-delete", first)).status_code == 404
    assert not ProposedTrain.objects.filter(by_hand=True).exists()
