"""Enquiries of the demo: rung in, half taken down, sent in from the mailed page with an invented photograph."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from io import BytesIO
from typing import Any

from PIL import Image, ImageDraw, ImageFilter

from customers.causes.queries import tables_of
from customers.enquiries.actions import close_enquiry, confirm_cause, send_in, start_enquiry
from customers.enquiries.answering import note_answers
from customers.enquiries.devices import begin_device, call_device
from customers.enquiries.keeping import Sayer, caller_of
from customers.enquiries.links import make_link, use_link
from customers.enquiries.models import AnswerKind, Enquiry
from customers.enquiries.photographs import add_photo
from customers.enquiries.placing import attach_to_household
from customers.households.models import Site
from customers.people.actors import Actor
from service.milestones.enquiries import file_device, mail_questions

KINDS = {"water": AnswerKind.OBSERVATION, "device": AnswerKind.FEATURE, "people": AnswerKind.FACT}


def take_enquiries(office: Actor, told: Mapping[str, Any], now: datetime) -> int:
    """Every enquiry of the scenario, at the hour it is said to have come. Returns how many."""
    rows = told.get("enquiry", ())
    for row in rows:
        _take(office, row, now - timedelta(hours=float(row["hours_ago"])))
    return len(rows)


def _take(office: Actor, told: Mapping[str, Any], at: datetime) -> Enquiry:
    tables = tables_of(office.dealer)
    enquiry = start_enquiry(actor=office, now=at, details=told["details"])
    by = Sayer(office.name)
    if told.get("mailed"):
        if not told.get("sent"):
            mail_questions(enquiry=enquiry, by=by, now=at, address=enquiry.email)
            return enquiry
        _link, token = make_link(enquiry=enquiry, by=by, now=at, address=enquiry.email)
        at += timedelta(minutes=40)
        use_link(token=token, now=at)
        by = caller_of(enquiry)
    for minute, (word, kind) in enumerate(KINDS.items(), start=1):
        answers = told.get(word, {})
        if answers:
            then = at + timedelta(minutes=minute)
            note_answers(enquiry=enquiry, by=by, now=then, kind=kind, answers=answers, tables=tables)
    for second in told.get("beside", ()):
        then = at + timedelta(minutes=5)
        made = begin_device(enquiry=enquiry, by=by, now=then)
        call_device(enquiry=enquiry, by=by, now=then, number=made.number, called=second["called"])
        seen: dict[str, Any] = {"kind": AnswerKind.FEATURE, "answers": second["seen"], "thing": made.number}
        note_answers(enquiry=enquiry, by=by, now=then, tables=tables, **seen)
    if "photo" in told:
        words, rgb = told["photo"]
        add_photo(enquiry=enquiry, by=by, now=at + timedelta(minutes=6), upload=glass_of(rgb), words=words)
    if told.get("sent"):
        send_in(enquiry=enquiry, now=at + timedelta(minutes=9))
    _goes_on(enquiry, told, office, at + timedelta(minutes=12))
    return enquiry


def _goes_on(enquiry: Enquiry, told: Mapping[str, Any], office: Actor, at: datetime) -> None:
    """Into a household's file, its device onto the wall, its cause confirmed and the enquiry closed, as told."""
    tables = tables_of(office.dealer)
    if "household" in told:
        site = Site.objects.get(name=told["household"])
        attach_to_household(enquiry=enquiry, site=site, actor=office, now=at)
    if "found" in told:
        device, name = told["found"]
        seen: dict[str, Any] = {"name": name, "found_on": at.date()}
        file_device(enquiry=enquiry, device=device, tables=tables, actor=office, now=at, **seen)
    if "cause" in told:
        cause, note = told["cause"]
        confirm_cause(enquiry=enquiry, actor=office, now=at, cause=cause, note=note, tables=tables)
    if "closed" in told:
        close_enquiry(enquiry=enquiry, actor=office, now=at, reason=told["closed"])


def glass_of(rgb: tuple[int, int, int]) -> BytesIO:
    """An invented photograph: a glass of water of a colour before white paper, lit from one side, not quite sharp."""
    wide, high = 1200, 900
    sheet = Image.linear_gradient("L").rotate(90).resize((wide, high)).point(lambda grey: 205 + grey * 45 // 255)
    picture = Image.merge("RGB", (sheet, sheet, sheet.point(lambda grey: grey - 6)))
    pen = ImageDraw.Draw(picture, "RGBA")
    pen.rectangle((0, 690, wide, high), fill=(128, 104, 82, 255))
    pen.polygon([(430, 250), (770, 250), (735, 760), (465, 760)], fill=(*rgb, 215))
    pen.polygon([(690, 250), (770, 250), (735, 760), (675, 760)], fill=(20, 20, 20, 30))
    pen.ellipse((430, 228, 770, 272), fill=(*(min(255, part + 40) for part in rgb), 235))
    pen.line([(420, 150), (465, 770), (735, 770), (780, 150)], fill=(90, 100, 104, 255), width=6)
    pen.line([(470, 200), (500, 700)], fill=(255, 255, 255, 120), width=14)
    out = BytesIO()
    picture.filter(ImageFilter.GaussianBlur(1.4)).save(out, "JPEG", quality=88)
    out.seek(0)
    return out
