from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest

from customers.water_tests.actions import RefusedRows, RowIn
from customers.water_tests.models import DrinkNotice
from customers.water_tests.notices import record_remedy
from service.documents.models import Paper
from service.installs.models import FittedPart, Install
from service.jobs.actions import JobUnfinished, start_job
from service.jobs.models import Job
from service.milestones import actions
from service.milestones.actions import answer_quote, book_visit, finish_job, issue_quote, take_in_water_test
from service.reminders.models import Message
from service.upkeep.queries import next_visit
from sizing.quotes.actions import QuoteNotOpen, WrongDocument
from sizing.quotes.models import Quote, QuoteAnswer
from tests import factories
from tests.service.factories_service import accepted_quote, commissioned
from tests.service.jobs.test_jobs import do_all

CLEAR = (RowIn("total_coliform", "absent", ""), RowIn("e_coli", "absent", ""))


def answer(quote: Quote, user: Any, now: Any, **changes: Any) -> QuoteAnswer:
    """The household's yes."""
    fields: dict[str, Any] = {
        "accepted": True,
        "name": "Tamsin Okoro",
        "user": user,
        "address": "192.0.2.7",
        "user_agent": "phone",
        "document_hash": quote.fingerprint,
        "now": now,
    }
    return answer_quote(quote=quote, **{**fields, **changes})


def sample(site: Any, now: Any, on: date, rows: Any = CLEAR, **heading: Any) -> Any:
    """A laboratory sample at the entry."""
    fields = {"kind": "lab", "place": "entry", "sampled_on": on, "laboratory": "Northreach Laboratory"}
    return take_in_water_test(site=site, actor_name="Maren Vik", now=now, heading={**fields, **heading}, rows=rows)


def test_issuing_makes_the_paper_the_fingerprint_and_the_message(
    site: Any, now: Any, today: date, office_actor: Any
) -> None:
    quote = accepted_quote(site, state="drafted")
    Quote.objects.filter(pk=quote.pk).update(issued_at=None, valid_until=None, fingerprint="")
    quote.refresh_from_db()
    issue_quote(quote=quote, actor=office_actor, now=now)
    quote.refresh_from_db()
    paper = Paper.objects.get(kind="quote")
    message = Message.objects.get()
    assert (quote.state, quote.fingerprint) == ("issued", paper.sha256)
    assert quote.valid_until == today + timedelta(days=30)
    assert (message.rule, message.attachment_id, message.to_address) == (
        "quote_issued",
        paper.pk,
        site.customer.email,
    )
    assert "/home/link/" in message.body
    with pytest.raises(QuoteNotOpen):
        issue_quote(quote=quote, actor=office_actor, now=now)
    assert Paper.objects.count() == Message.objects.count() == 1


def test_acceptance_makes_install_job_parts_and_sheet(site: Any, now: Any, customer_access: Any) -> None:
    quote = accepted_quote(site, state="issued")
    answer(quote, customer_access.user, now)
    install = Install.objects.get()
    job = Job.objects.get()
    assert (install.quote_id, install.stages.count()) == (quote.pk, 3)
    assert (job.kind, job.state, job.install_id) == ("install", "planned", install.pk)
    assert job.bring.filter(name="UV").exists()
    assert job.tasks.filter(code="air_gap").exists()
    assert Paper.objects.filter(kind="install_sheet", about=install.public_id).count() == 1


def test_acceptance_is_all_or_nothing(
    site: Any, now: Any, customer_access: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    quote = accepted_quote(site, state="issued")

    def fail(**kwargs: Any) -> None:
        raise OSError("no room for the sheet")

    monkeypatch.setattr(actions, "make_paper", fail)
    with pytest.raises(OSError, match="no room"):
        answer(quote, customer_access.user, now)
    quote.refresh_from_db()
    assert quote.state == "issued"
    assert Install.objects.count() == Job.objects.count() == QuoteAnswer.objects.count() == 0


def test_a_second_answer_or_another_document_makes_nothing(site: Any, now: Any, customer_access: Any) -> None:
    quote = accepted_quote(site, state="issued")
    with pytest.raises(WrongDocument):
        answer(quote, customer_access.user, now, document_hash="f" * 64)
    answer(quote, customer_access.user, now)
    with pytest.raises(QuoteNotOpen):
        answer(quote, customer_access.user, now)
    assert Install.objects.count() == Job.objects.count() == 1


def test_declining_makes_no_install(site: Any, now: Any, customer_access: Any) -> None:
    answer(accepted_quote(site, state="issued"), customer_access.user, now, accepted=False, reason="later")
    assert Install.objects.count() == Job.objects.count() == 0


def installed(site: Any, now: Any, user: Any, technician: Any) -> Job:
    """From the yes to a visit under way today."""
    answer(accepted_quote(site, state="issued"), user, now)
    job = Job.objects.get()
    book_visit(job=job, day=now.date(), start_at=time(9), staff=[technician], actor_name="Maren", now=now)
    return start_job(job=job, actor_name="Birgit", now=now)


def test_booking_tells_the_household_once(site: Any, now: Any, customer_access: Any, technician: Any) -> None:
    job = installed(site, now, customer_access.user, technician)
    assert Message.objects.get(rule="install_booked").due_on == job.day
    assert technician.name in Message.objects.get(rule="install_booked").body


def test_finishing_the_installation_commissions_it(
    site: Any, now: Any, today: date, customer_access: Any, technician: Any
) -> None:
    job = installed(site, now, customer_access.user, technician)
    with pytest.raises(JobUnfinished):
        finish_job(job=job, actor_name="Birgit", now=now, signed_name="Tamsin Okoro")
    assert Install.objects.get().commissioned_on is None
    do_all(job, now)
    for _ in range(2):
        finish_job(job=job, actor_name="Birgit", now=now, signed_name="Tamsin Okoro", signature="M1 1L2 2")
    install = Install.objects.get()
    assert (install.commissioned_on, install.proven_on) == (today, None)
    assert Paper.objects.filter(kind="commissioning").count() == 1
    visit = next_visit(site, today)
    assert visit is not None
    assert visit.on == min(FittedPart.objects.values_list("next_due_on", flat=True)) == date(2026, 12, 9)


def test_only_a_clear_laboratory_sample_after_commissioning_proves(site: Any, now: Any, today: date) -> None:
    install = commissioned(site, on=today)
    later = now + timedelta(days=5)
    day = today + timedelta(days=4)
    sample(site, later, today - timedelta(days=1))
    sample(site, later, day, place="raw")
    sample(site, later, day, kind="field")
    sample(site, later, day, rows=CLEAR[:1])
    install.refresh_from_db()
    assert install.proven_on is None
    sample(site, later, day)
    install.refresh_from_db()
    assert install.proven_on == day


def test_a_positive_result_opens_the_notice_and_says_so_once(
    site: Any, now: Any, today: date, customer_access: Any
) -> None:
    commissioned(site, on=today - timedelta(days=9))
    for _ in range(2):
        sample(site, now, today, rows=(RowIn("total_coliform", "present", ""), RowIn("e_coli", "absent", "")))
    notices = Message.objects.filter(rule="do_not_drink")
    assert {m.to_address for m in notices} == {site.customer.email, customer_access.user.email}
    assert notices.count() == 2
    paper = Paper.objects.get(kind="notice")
    assert {m.attachment_id for m in notices} == {paper.pk}


def test_two_clear_samples_after_the_remedy_lift_it_and_say_so(site: Any, now: Any, today: date) -> None:
    commissioned(site, on=today - timedelta(days=9))
    sample(site, now, today, rows=(RowIn("total_coliform", "4", "per 100 mL"), RowIn("e_coli", "absent", "")))
    record_remedy(site=site, on=today, actor_name="Birgit", now=now)
    for days in (2, 9):
        later = now + timedelta(days=days)
        sample(site, later, today + timedelta(days=days))
        assert Message.objects.filter(rule="notice_lifted").exists() is (days == 9)
    assert DrinkNotice.objects.get().lifted_on == today + timedelta(days=9)


def test_a_bad_row_keeps_nothing(site: Any, now: Any, today: date) -> None:
    with pytest.raises(RefusedRows):
        sample(site, now, today, rows=(*CLEAR, RowIn("ph", "17", "")))
    assert site.water_tests.count() == 0
    assert Message.objects.count() == 0


def test_without_an_address_the_quotes_message_is_held(site: Any, now: Any, office_actor: Any) -> None:
    site.customer.email = ""
    site.customer.save()
    quote = accepted_quote(site, state="drafted")
    issue_quote(quote=quote, actor=office_actor, now=now)
    assert Message.objects.get().state == "held"


def test_opening_makes_its_sheet_and_new_cartridges(dealer: Any, now: Any, technician: Any) -> None:
    from service.jobs.actions import plan_job

    site = factories.SeasonalSiteFactory(dealer=dealer)
    commissioned(site, on=date(2025, 5, 19))
    job = plan_job(site=site, kind="opening", what="Opening", actor_name="Maren", now=now)
    book_visit(job=job, day=now.date(), start_at=None, staff=[technician], actor_name="Maren", now=now)
    start_job(job=job, actor_name="Birgit", now=now)
    do_all(job, now)
    finish_job(job=job, actor_name="Birgit", now=now, signed_name="J. Okoro")
    assert Paper.objects.filter(kind="opening", about=job.public_id).count() == 1
    assert FittedPart.objects.get(code="cartridge").renewed_on == date(2026, 6, 9)
