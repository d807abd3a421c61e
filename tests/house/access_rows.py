"""Every address of the product: whose row it names and which methods do something there.

A new route without a row here fails ``test_access.py``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from customers.people import permissions

READ, BOTH, WRITE = ("GET",), ("GET", "POST"), ("POST",)
#: Whose row an address names: nobody's, one of the dealer's desk, a household's, a job's.
NONE, DESK, SITE, JOB = "none", "desk", "site", "job"


@dataclass(frozen=True)
class Row:
    """``ids``: keyword of the address -> name in the world; ``methods`` that are not refused as such."""

    methods: tuple[str, ...] = READ
    of: str = NONE
    ids: tuple[tuple[str, str], ...] = ()
    entrance: str = ""  # for pages of signing in: "open" or "own"
    status: int = 0  # what an open page answers to a token that is nobody's

    @property
    def answered(self) -> tuple[str, ...]:
        """Every method that is not refused as such."""
        return (*self.methods, "HEAD") if "GET" in self.methods else self.methods

    def kwargs(self, find: Callable[[str], Any]) -> dict[str, Any]:
        """Arguments of the address."""
        return {key: find(name) for key, name in self.ids}


def at(of: str, methods: tuple[str, ...] = READ, **ids: str) -> Row:
    """A row for an address that names something."""
    return Row(methods, of, tuple(ids.items()))


def site(methods: tuple[str, ...] = READ) -> Row:
    """A row for an address of a household."""
    return at(SITE, methods, site_id="site")


def door(entrance: str, methods: tuple[str, ...] = BOTH, **ids: str) -> Row:
    """A row for a page of signing in or of one's own account."""
    return Row(methods, NONE, tuple(ids.items()), entrance)


PAGES: dict[str, Row] = {
    "home": Row(),
    "health": Row(),
    "today": Row(),
    "household-list": Row(),
    "household-search": Row(),
    "household-new": Row(BOTH),
    "household": site(),
    "household-edit": site(BOTH),
    "household-access": site(WRITE),
    "remedy": site(BOTH),
    "enquiry-list": Row(),
    "enquiry-new": Row(WRITE),
    "enquiry": at(DESK, BOTH, enquiry_id="enquiry"),
    "enquiry-photo": at(DESK, photo_id="enquiry_photo"),
    "enquiry-photo-remove": at(DESK, WRITE, photo_id="enquiry_photo"),
    "enquiry-in-hand": at(DESK, WRITE, enquiry_id="enquiry"),
    "enquiry-photo-add": at(DESK, WRITE, enquiry_id="enquiry"),
    "enquiry-attach": at(DESK, BOTH, enquiry_id="enquiry"),
    "enquiry-household": at(DESK, BOTH, enquiry_id="enquiry"),
    "enquiry-mail": at(DESK, WRITE, enquiry_id="enquiry"),
    "enquiry-stop": at(DESK, WRITE, enquiry_id="enquiry"),
    "enquiry-close": at(DESK, WRITE, enquiry_id="enquiry"),
    "enquiry-device": at(DESK, BOTH, enquiry_id="enquiry", device="device_code"),
    "found-stage": at(SITE, BOTH, stage_id="found_stage"),
    "enquiry-cause": at(DESK, WRITE, enquiry_id="enquiry"),
    "household-papers": site(),
    "paper-make": site(WRITE),
    "symptoms": site(BOTH),
    "symptom-gone": at(SITE, WRITE, observation_id="observation"),
    "flow-test-new": site(BOTH),
    "flow-test": at(SITE, test_id="flow_test"),
    "water-test-new": site(BOTH),
    "water-test-check": site(WRITE),
    "water-test": at(SITE, test_id="water_test"),
    "history": site(),
    "sampling-list": Row(),
    "sampling-new": site(BOTH),
    "sampling-check": site(WRITE),
    "sampling": at(SITE, sampling_id="sampling"),
    "sampling-change": at(SITE, BOTH, sampling_id="sampling"),
    "sampling-drawn": at(SITE, WRITE, sampling_id="sampling"),
    "sampling-received": at(SITE, WRITE, sampling_id="sampling"),
    "sampling-chase": at(SITE, WRITE, sampling_id="sampling"),
    "sampling-end": at(SITE, WRITE, sampling_id="sampling"),
    "draw-answered": at(SITE, WRITE, draw_id="draw"),
    "laboratory-list": Row(),
    "laboratory-new": Row(BOTH),
    "laboratory": at(DESK, BOTH, laboratory_id="laboratory"),
    "lab-file-list": Row(BOTH),
    "lab-file": at(DESK, file_id="lab_file"),
    "lab-file-answer": at(DESK, WRITE, file_id="lab_file"),
    "lab-file-drop": at(DESK, WRITE, file_id="lab_file"),
    "lab-file-back": at(DESK, WRITE, file_id="lab_file"),
    "lab-file-original": at(DESK, file_id="lab_file"),
    "lab-report-attach": at(SITE, WRITE, test_id="water_test"),
    "lab-report": at(SITE, report_id="lab_report"),
    "design-new": site(BOTH),
    "design": at(DESK, design_id="design"),
    "design-worksheet": at(DESK, train_id="train"),
    "design-quote": at(DESK, WRITE, train_id="train"),
    "design-begin": at(DESK, WRITE, design_id="design"),
    "design-clear": at(DESK, WRITE, design_id="design"),
    "design-again": at(DESK, WRITE, design_id="design"),
    "design-why": at(DESK, BOTH, design_id="design"),
    "design-against": at(DESK, design_id="design", other_id="earlier_design"),
    "design-list": site(),
    "design-line": at(DESK, BOTH, train_id="train"),
    "design-find": at(DESK, train_id="train"),
    "design-name": at(DESK, BOTH, train_id="train"),
    "design-delete": at(DESK, WRITE, train_id="train"),
    "design-back": at(DESK, WRITE, train_id="train"),
    "redesigns": Row(BOTH),
    "redesign": at(DESK, run_id="round"),
    "redesign-stop": at(DESK, WRITE, run_id="round"),
    "reckon": Row(),
    **{
        f"reckon-{name}": Row()
        for name in ("flow", "tank", "pressure", "backwash", "softener", "uv", "shock", "sweat", "power")
    },
    "quote-list": Row(),
    "quote": at(DESK, quote_id="quote"),
    "quote-edit": at(DESK, BOTH, quote_id="draft"),
    "quote-line-new": at(DESK, BOTH, quote_id="draft"),
    "quote-line": at(DESK, BOTH, quote_id="draft", line_id="line"),
    "quote-line-remove": at(DESK, WRITE, quote_id="draft", line_id="line"),
    "quote-issue": at(DESK, WRITE, quote_id="draft"),
    "quote-revise": at(DESK, WRITE, quote_id="quote"),
    "job-list": Row(),
    "job": at(JOB, job_id="job"),
    "job-book": at(JOB, BOTH, job_id="planned"),
    "job-call-off": at(JOB, BOTH, job_id="planned"),
    "job-new": site(BOTH),
    "season-board": Row(BOTH),
    "parts": Row(),
    "messages": Row(),
    "message-retry": at(DESK, WRITE, message_id="message"),
    "message-drop": at(DESK, WRITE, message_id="message"),
    "catalogue": Row(),
    "catalogue-item": at(DESK, item_id="item"),
    "catalogue-item-edit": at(DESK, BOTH, item_id="item"),
    "catalogue-item-price": at(DESK, BOTH, item_id="item"),
    "catalogue-item-offer": at(DESK, WRITE, item_id="item"),
    "catalogue-new": Row(BOTH),
    "catalogue-upload": Row(BOTH),
    "catalogue-download": Row(),
    "catalogue-blank": Row(),
    "catalogue-file": at(DESK, BOTH, file_id="catalogue_file"),
    "catalogue-lists": Row(),
    "catalogue-raise": Row(BOTH),
    "catalogue-list": at(DESK, BOTH, list_id="price_list"),
    "catalogue-list-withdraw": at(DESK, WRITE, list_id="price_list"),
    "causes": Row(),
    "causes-complaint": Row(BOTH),
    "causes-cause": Row(BOTH),
    "causes-questions": Row(),
    "causes-devices": Row(),
    "causes-device": Row(BOTH),
    "causes-own": Row(BOTH),
    "causes-record": Row(),
    "causes-undo": at(DESK, WRITE, correction_id="correction"),
    "causes-again": at(DESK, WRITE, correction_id="correction"),
    "household-cause": site(BOTH),
    "settings": Row(BOTH),
    "staff": Row(BOTH),
    "staff-member": at(DESK, BOTH, staff_id="technician"),
    "field-today": Row(),
    "field-job": at(JOB, job_id="job"),
    "field-start": at(JOB, WRITE, job_id="job"),
    "field-finish": at(JOB, BOTH, job_id="job"),
    "field-task": at(JOB, BOTH, task_id="task"),
    "field-reopen": at(JOB, WRITE, task_id="task"),
    "field-flow": at(JOB, BOTH, task_id="flow_task"),
    "portal-home": Row(),
    "portal-link": Row(BOTH, ids=(("token", "token"),), status=404),
    "asked": Row(status=404),
    "asked-link": Row(BOTH, ids=(("token", "token"),), status=404),
    "asked-step": Row(BOTH, ids=(("slug", "token"),), status=404),
    "asked-photo": Row(ids=(("photo_id", "enquiry_photo"),), status=404),
    "asked-photo-remove": Row(WRITE, ids=(("photo_id", "enquiry_photo"),), status=404),
    "portal-calendar": Row(ids=(("token", "token"),), status=404),
    "portal-quote": at(SITE, BOTH, quote_id="quote"),
    "portal-report": at(SITE, report_id="lab_report"),
    "portal-site": site(),
    "portal-papers": site(),
    "portal-ask": site(BOTH),
    "portal-season": site(BOTH),
    "portal-messages": site(BOTH),
    "unsubscribe": Row(BOTH, ids=(("token", "token"),), status=404),
    "paper": at(SITE, paper_id="paper"),
}
API: dict[str, Row] = {
    "api-schema": Row(),
    "api-households": Row(),
    "api-household": site(),
    "api-limits": site(),
    "api-water-path": site(),
    "api-water-tests": site(BOTH),
    "api-flow-tests": site(BOTH),
    "api-symptoms": site(BOTH),
    "api-designs": site(BOTH),
    "api-design": at(DESK, design_id="design"),
    "api-worksheet": at(DESK, train_id="train"),
    "api-quotes": Row(),
    "api-quote": at(DESK, quote_id="quote"),
    "api-jobs": Row(),
    "api-job": at(JOB, job_id="job"),
    "api-job-start": at(JOB, WRITE, job_id="job"),
    "api-job-finish": at(JOB, WRITE, job_id="job"),
    "api-task": at(JOB, BOTH, task_id="task"),
    "api-due-visits": Row(),
}
ACCOUNT: dict[str, Row] = {
    "account_login": door("open"),
    "account_logout": door("open"),
    "account_inactive": door("open", READ),
    "account_signup": door("open"),
    "account_reauthenticate": door("own"),
    "account_email": door("own"),
    "account_email_verification_sent": door("open", READ),
    "account_change_password": door("own"),
    "account_set_password": door("own"),
    "account_reset_password": door("open"),
    "account_confirm_login_code": door("open"),
    "account_confirm_email": door("open", key="token"),
    "account_reset_password_from_key_done": door("open", READ),
    "account_reset_password_from_key": door("open", uidb36="token", key="token"),
    "account_reset_password_done": door("open", READ),
    "account_request_login_code": door("open"),
    "mfa_index": door("own", READ),
    "mfa_authenticate": door("open"),
    "mfa_reauthenticate": door("own"),
    "mfa_activate_totp": door("own"),
    "mfa_deactivate_totp": door("own"),
    "mfa_view_recovery_codes": door("own", READ),
    "mfa_generate_recovery_codes": door("own"),
    "mfa_download_recovery_codes": door("own", READ),
}
ROWS = PAGES | API | ACCOUNT


@dataclass(frozen=True)
class Person:
    """Somebody before the door. ``role`` is ``None`` for nobody and for those whose access has ended;
    ``sees`` are the kinds of rows of dealer A they may see."""

    name: str
    role: str | None
    sees: frozenset[str] = frozenset()
    ours: bool = False  # of dealer A
    outside: bool = True  # must see nothing of the household


ALL = frozenset({DESK, SITE, JOB})
PEOPLE = (
    Person("anonymous", None),
    Person("other office", permissions.OFFICE),
    Person("other owner", permissions.OWNER),
    Person("revoked", None),
    Person("idle technician", permissions.TECHNICIAN, ours=True),
    Person("other customer", permissions.CUSTOMER, ours=True),
    Person("technician", permissions.TECHNICIAN, frozenset({SITE, JOB}), True, False),
    Person("customer", permissions.CUSTOMER, frozenset({SITE}), True, False),
    Person("office", permissions.OFFICE, ALL, True, False),
    Person("owner", permissions.OWNER, ALL, True, False),
)


OWNERS, OFFICES = {"owner", "other owner"}, {"office", "other office"}


def asked(access: tuple[str, str] | None, turn: int) -> list[Person]:
    """Who is sent to an address: owner and office both where their roles differ, else one of the two in turn."""
    rules = [permissions.RULES[action] for action in access or () if action in permissions.RULES]
    differ = any((permissions.OWNER in rule) != (permissions.OFFICE in rule) for rule in rules)
    left_out = set() if differ else OWNERS if turn % 2 else OFFICES
    return [person for person in PEOPLE if person.name not in left_out]


def expected(row: Row, access: tuple[str, str] | None, person: Person, *, safe: bool) -> str:
    """What must happen: "door", "open", "sign in", "403", "404" or "allowed"."""
    if access is None:
        return "door"
    if access[0] == "open":
        return "open"
    if person.name == "anonymous":
        return "sign in"
    if person.role is None or person.role not in permissions.RULES[access[0 if safe else 1]]:
        return "403"
    if row.of != NONE and row.of not in person.sees:
        return "404"
    return "allowed"
