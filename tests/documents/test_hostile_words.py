"""Hostile words in every free text of a paper: nothing is fetched, nothing is run, the words stand there as typed."""

from __future__ import annotations

from datetime import date, datetime
from html.parser import HTMLParser
from io import BytesIO
from typing import Any

import pikepdf
import pytest
from pypdf import PdfReader
from weasyprint.urls import URLFetcher

from customers.models import Customer, Dealer, DrinkNotice, Laboratory, Sampling, SamplingDraw, Site, WaterTest
from service.documents import drafts
from service.documents.actions import PaperDraft, html_of
from service.documents.render import render_pdf
from service.installs.models import FittedPart, Install, InstalledStage
from service.jobs.models import Job, JobPart, JobTask
from sizing.quotes.models import Quote, QuoteLine
from tests.documents.drafted import every_draft

MARK = "zqx"
PAYLOADS = (
    '<img src="file:///etc/hostname">zqx',
    '<img src="http://127.0.0.1:9/zqx">',
    '<link rel="attachment" href="file:///etc/hostname">zqx',
    '<a rel="attachment" href="file:///etc/hostname">zqx</a>',
    '"><iframe src="file:///etc/hostname"></iframe>zqx',
    "<style>@import url(http://127.0.0.1:9/zqx);</style>",
    "<style>body{background:url(file:///etc/hostname)}</style>zqx",
    '<object data="file:///etc/hostname">zqx</object>',
    '<svg><image href="file:///etc/hostname"/></svg>zqx',
    "<script>zqx()</script>",
    "</style></svg><h1>zqx</h1>",
    "{{ 7|add:7 }}{% include 'zqx' %}",
    "&lt;zqx&gt;&#x3c;",
    "'\";--<!-- zqx",
)
NEVER = {"script", "iframe", "object", "embed", "link", "form", "img", "image"}
#: Free texts that papers print, by table; each takes every payload that fits.
TEXTS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (Dealer, ("name", "postal_address", "phone", "licence_line")),
    (Customer, ("name",)),
    (Site, ("name", "road", "access_note", "source_note", "pump_note", "worst_fixture", "drain_note")),
    (WaterTest, ("sampled_by", "laboratory", "report_number", "note")),
    (DrinkNotice, ("cause",)),
    (Laboratory, ("name", "address", "contact")),
    (Sampling, ("drawer", "note")),
    (SamplingDraw, ("where",)),
    (Quote, ("title", "note", "tax_name")),
    (QuoteLine, ("description", "why")),
    (InstalledStage, ("name", "serial", "note", "size_label")),
    (FittedPart, ("name", "specification")),
    (Job, ("what", "note", "signed_name")),
    (JobTask, ("text", "text_value", "group")),
    (JobPart, ("name", "specification")),
)
OWN_TAGS_WITH_ADDRESS = ("src", "href", "data", "xlink:href", "action", "background", "poster")


class Addresses(HTMLParser):
    """Collects what a page asks for, and its tags."""

    def __init__(self) -> None:
        super().__init__()
        self.asked: list[str] = []
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.asked += [value or "" for name, value in attrs if name in OWN_TAGS_WITH_ADDRESS]


def _fill(turn: int) -> int:
    """Put payloads into every free text, another one in each; returns how many were put."""
    put = 0
    for model, names in TEXTS:
        for row in model.objects.all():
            changes = {}
            for name in names:
                room = model._meta.get_field(name).max_length or 500
                fitting = [text for text in PAYLOADS if len(text) <= room] or [f"<b>{MARK}"]
                changes[name] = fitting[(put + turn) % len(fitting)]
                put += 1
            model.objects.filter(pk=row.pk).update(**changes)
    return put


@pytest.fixture
def no_fetch(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Addresses that rendering asked for."""
    asked: list[str] = []
    plain = URLFetcher.fetch

    def watch(self: Any, url: str, *args: Any, **kwargs: Any) -> Any:
        if not url.startswith("data:"):
            asked.append(url)
        return plain(self, url, *args, **kwargs)

    monkeypatch.setattr(URLFetcher, "fetch", watch)
    return asked


def _drafts(site: Any, today: date) -> list[PaperDraft]:
    """Every paper drawn up anew from the rows as they stand."""
    site = Site.objects.select_related("customer", "dealer").get(pk=site.pk)
    install, job = Install.objects.get(), Job.objects.get()
    quote = Quote.objects.select_related("site__customer", "site__dealer", "train__proposal__site").get()
    return [
        drafts.quote_draft(quote, today),
        drafts.install_sheet_draft(install, job, today),
        drafts.worksheet_draft(quote.train, today),
        drafts.commissioning_draft(job, today),
        drafts.season_draft(site, "opening", today, job),
        drafts.season_draft(site, "closing", today, job),
        drafts.water_report_draft(site, today),
        drafts.notice_draft(site),
        drafts.labels_draft(site, today),
    ]


@pytest.mark.parametrize("turn", range(0, len(PAYLOADS), 3))
def test_words_stay_words(site: Any, now: datetime, today: date, turn: int) -> None:
    every_draft(site, now, today)
    assert _fill(turn) > 60
    told = 0
    for draft in _drafts(site, today):
        html = html_of(draft, version=1, now=now)
        page = Addresses()
        page.feed(html)
        assert not [url for url in page.asked if not url.startswith(("#", "data:"))], draft.kind
        assert not page.tags & NEVER, draft.kind
        told += html.count(MARK)
    assert told > 40


def test_nothing_is_fetched_while_a_paper_is_made(site: Any, now: datetime, today: date, no_fetch: list[str]) -> None:
    every_draft(site, now, today)
    _fill(0)
    for draft in _drafts(site, today)[:3]:
        pdf = render_pdf(html_of(draft, version=1, now=now))
        assert no_fetch == []
        with pikepdf.open(BytesIO(pdf.data)) as opened:
            assert len(opened.attachments) == 0
        assert MARK in _text_of(pdf.data)


def _text_of(data: bytes) -> str:
    return "".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)


@pytest.mark.parametrize("payload", PAYLOADS)
def test_raw_words_that_got_through_would_still_fetch_nothing(payload: str, tmp_path: Any) -> None:
    """The second wall: even unescaped, no file is read and none is put inside."""
    secret = tmp_path / "secret.txt"
    secret.write_text("kept to itself")
    body = payload.replace("/etc/hostname", str(secret))
    data = render_pdf(f"<html lang='en'><head><title>t</title></head><body>{body}<p>end</p></body></html>").data
    assert "kept to itself" not in _text_of(data)
    with pikepdf.open(BytesIO(data)) as opened:
        assert len(opened.attachments) == 0
        kept = [bytes(o.read_bytes()) for o in opened.objects if isinstance(o, pikepdf.Stream)]
    assert not any(b"kept to itself" in stream for stream in kept)
