"""Quotes: sums to the cent, versions, states that only move forward, answers kept once."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.quotes.actions import (
    QuoteNotOpen,
    Unsigned,
    WrongDocument,
    add_line,
    change_line,
    change_terms,
    lapse_quotes,
    mark_issued,
    record_answer,
    remove_line,
    revise_quote,
)
from sizing.quotes.models import Quote, QuoteLine, QuoteState
from sizing.quotes.queries import totals, totals_of
from tests import factories

money = st.decimals(min_value=0, max_value=99999, places=2)


@given(st.lists(st.tuples(money, st.integers(1, 20)), min_size=1, max_size=8), st.decimals(0, 30, places=3))
def test_tax_is_taken_once_on_the_sum_and_rounded_to_the_cent(rows: list[tuple[Decimal, int]], rate: Decimal) -> None:
    """Against exact fractions: the sum has no rounding of its own, the tax at most half a cent."""
    lines = [QuoteLine(unit_price=price, quantity=Decimal(count), chosen=True) for price, count in rows]
    found = totals_of(lines, rate)
    exact = sum(Fraction(price) * count for price, count in rows)
    assert Fraction(found.net) == exact
    assert abs(Fraction(found.tax) - exact * Fraction(rate) / 100) <= Fraction(1, 200)
    assert found.total == found.net + found.tax


def test_a_worked_sum() -> None:
    """By hand: 1,985.00 + 2 x 310.00 = 2,605.00; 6 % is 156.30; an option left out is not counted."""
    lines = [
        QuoteLine(unit_price=Decimal("1985.00"), quantity=Decimal(1), chosen=True),
        QuoteLine(unit_price=Decimal("310.00"), quantity=Decimal(2), chosen=True),
        QuoteLine(unit_price=Decimal("85.00"), quantity=Decimal(1), optional=True, chosen=False),
    ]
    found = totals_of(lines, Decimal(6))
    assert (found.net, found.tax, found.total) == (Decimal("2605.00"), Decimal("156.30"), Decimal("2761.30"))
    assert found.options == Decimal("85.00")


@pytest.fixture
def draft(site: Any) -> Quote:
    quote = factories.QuoteFactory(site=site)
    factories.QuoteLineFactory(quote=quote, position=1)
    return quote


def issue(quote: Quote, now: datetime, today: date) -> Quote:
    return mark_issued(quote=quote, now=now, today=today, actor_name="Maren", fingerprint="a" * 64)


def answer(quote: Quote, now: datetime, today: date, **changed: Any) -> Any:
    given_ = {
        "accepted": True,
        "name": "Tamsin Okoro",
        "signature": "",
        "reason": "",
        "user": factories.UserFactory(),
        "address": "192.0.2.1",
        "user_agent": "x" * 900,
        "document_hash": "a" * 64,
        "now": now,
        "today": today,
    }
    return record_answer(quote=quote, **{**given_, **changed})


def test_an_issued_quote_never_changes(draft: Quote, now: datetime, today: date) -> None:
    line = draft.lines.get()
    issue(draft, now, today)
    assert draft.valid_until == today + timedelta(days=draft.valid_days)
    for change in (
        lambda: add_line(quote=draft, description="More", unit_price=Decimal(1)),
        lambda: change_line(
            line=line,
            description="Less",
            unit_price=Decimal(1),
            quantity=Decimal(1),
            why="",
            optional=False,
            chosen=True,
        ),
        lambda: remove_line(line=line),
        lambda: change_terms(quote=draft, title="x", note="", tax_name="t", tax_rate=Decimal(0), valid_days=1),
        lambda: issue(draft, now, today),
    ):
        with pytest.raises(QuoteNotOpen, match="issued"):
            change()
    assert draft.lines.get().description == line.description


def test_a_quote_without_a_chosen_line_is_not_issued(site: Any, now: datetime, today: date) -> None:
    with pytest.raises(QuoteNotOpen, match="no chosen line"):
        issue(factories.QuoteFactory(site=site), now, today)


def test_an_option_counts_only_once_chosen(draft: Quote) -> None:
    before = totals(draft).net
    option = add_line(quote=draft, description="Spare lamp", unit_price=Decimal("95.00"), optional=True)
    assert totals(draft).net == before
    change_line(
        line=option,
        description="Spare lamp",
        unit_price=Decimal("95.00"),
        quantity=Decimal(1),
        why="",
        optional=True,
        chosen=True,
    )
    assert totals(draft).net == before + Decimal("95.00")


def test_the_answer_keeps_who_when_where_and_which_document(draft: Quote, now: datetime, today: date) -> None:
    issue(draft, now, today)
    kept = answer(draft, now, today)
    assert (kept.name, kept.answered_at, kept.address, kept.document_hash) == (
        "Tamsin Okoro",
        now,
        "192.0.2.1",
        "a" * 64,
    )
    assert len(kept.user_agent) == 300
    assert draft.state == QuoteState.ACCEPTED
    with pytest.raises(QuoteNotOpen, match="accepted"):
        answer(draft, now, today, accepted=False)


@pytest.mark.parametrize(
    ("changed", "refusal"),
    [
        ({"name": "  "}, Unsigned),
        ({"document_hash": "b" * 64}, WrongDocument),
        ({"document_hash": ""}, WrongDocument),
    ],
)
def test_an_answer_that_cannot_be_kept_changes_nothing(
    draft: Quote, now: datetime, today: date, changed: dict[str, str], refusal: type[Exception]
) -> None:
    issue(draft, now, today)
    with pytest.raises(refusal):
        answer(draft, now, today, **changed)
    draft.refresh_from_db()
    assert draft.state == QuoteState.ISSUED
    assert not hasattr(draft, "answer")


def test_the_last_day_counts_and_the_day_after_does_not(draft: Quote, now: datetime, today: date) -> None:
    issue(draft, now, today)
    assert draft.valid_until is not None
    late = draft.valid_until + timedelta(days=1)
    with pytest.raises(QuoteNotOpen, match="open until"):
        answer(draft, now, late)
    assert lapse_quotes(today=draft.valid_until, now=now) == 0
    assert lapse_quotes(today=late, now=now) == 1
    assert lapse_quotes(today=late, now=now) == 0
    draft.refresh_from_db()
    assert draft.state == QuoteState.LAPSED


def test_a_change_makes_the_next_version_and_replaces_the_old_one(draft: Quote, now: datetime, today: date) -> None:
    issue(draft, now, today)
    later = revise_quote(quote=draft, actor_name="Maren", now=now)
    assert (later.number, later.version, later.state) == (draft.number, draft.version + 1, QuoteState.DRAFTED)
    assert [line.description for line in later.lines.all()] == [line.description for line in draft.lines.all()]
    draft.refresh_from_db()
    assert draft.state == QuoteState.ISSUED  # still open until the new one goes out
    with pytest.raises(QuoteNotOpen, match="later version"):
        revise_quote(quote=draft, actor_name="Maren", now=now)
    mark_issued(quote=later, now=now, today=today, actor_name="Maren", fingerprint="c" * 64)
    draft.refresh_from_db()
    assert draft.state == QuoteState.REPLACED


def test_an_accepted_quote_is_not_revised(draft: Quote, now: datetime, today: date) -> None:
    issue(draft, now, today)
    answer(draft, now, today)
    with pytest.raises(QuoteNotOpen):
        revise_quote(quote=draft, actor_name="Maren", now=now)
