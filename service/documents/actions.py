"""Making papers. A paper that was made is never changed; making it again makes the next version."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import Max
from django.template.loader import render_to_string

from customers.dealers.models import Dealer, PaperSize
from customers.dealers.queries import today_at
from customers.households.models import LogEntry, Site
from customers.water_tests.bar import notice_bar
from service.documents.models import Paper, PaperKind
from service.documents.render import render_pdf
from service.installs.words import day_words
from sizing.drawing.papers import page_rule


@dataclass(frozen=True)
class PaperDraft:
    """What a paper is made from: its number, its title, its template's context and whether households see it."""

    kind: PaperKind
    site: Site
    about: UUID
    number: str
    title: str
    context: dict[str, Any] = field(default_factory=dict)
    for_customer: bool = True
    version: int | None = None
    version_note: str = ""


def _fingerprint(html: str) -> str:
    """Twelve hex digits of the words on the paper, in groups of four, printed at its foot."""
    mark = hashlib.sha256(html.encode()).hexdigest()[:12]
    return " ".join((mark[:4], mark[4:8], mark[8:]))


def html_of(draft: PaperDraft, *, version: int, now: datetime) -> str:
    """The paper's HTML, with the fingerprint of its own words in the title block."""
    site, dealer = draft.site, draft.site.dealer
    day = today_at(dealer, now)
    size = "A4" if dealer.paper_size == PaperSize.A4 else "Letter"
    head = {
        "kind": draft.kind.label,
        "number": draft.number,
        "version": draft.version_note or str(version),
        "date": day_words(day),
        "household": f"{site.customer.name}, {site.name}",
        "title": draft.title,
    }
    context = {
        **draft.context,
        "paper": head,
        "dealer": letterhead(dealer),
        "css": page_rule(size),
        "notice": notice_bar(site),
        "site": site,
        "system": site.unit_system,
        "paper_width": 725 if size == "Letter" else 703,
    }
    template = f"documents/{draft.kind.value}.html"
    mark = _fingerprint(render_to_string(template, context))
    return render_to_string(template, {**context, "paper": {**head, "fingerprint": mark}})


def letterhead(dealer: Dealer) -> dict[str, str]:
    """What stands at the head of a paper."""
    return {
        "name": dealer.name,
        "address": dealer.postal_address,
        "phone": dealer.phone,
        "email": dealer.email,
        "licence": dealer.licence_line,
    }


@transaction.atomic
def make_paper(*, draft: PaperDraft, actor_name: str, now: datetime) -> Paper:
    """Render a paper, keep its file and hash, and log it.

    The version is the draft's own (a quote's) or the next free one for its number.
    """
    dealer = draft.site.dealer
    same = Paper.objects.filter(kind=draft.kind, number=draft.number)
    version = draft.version or (same.aggregate(last=Max("version"))["last"] or 0) + 1
    pdf = render_pdf(html_of(draft, version=version, now=now))
    digest = hashlib.sha256(pdf.data).hexdigest()
    paper = Paper(
        dealer=dealer,
        site=draft.site,
        kind=draft.kind,
        title=draft.title,
        number=draft.number,
        version=version,
        about=draft.about,
        made_at=now,
        made_by=actor_name,
        sha256=digest,
        pages=pdf.pages,
        for_customer=draft.for_customer,
    )
    paper.file.save(f"{dealer.public_id}/{paper.public_id}.pdf", ContentFile(pdf.data), save=False)
    paper.save()
    LogEntry.objects.create(
        dealer=dealer,
        site=draft.site,
        at=now,
        who=actor_name,
        what=f"made {draft.title}, {draft.number} version {version}",
    )
    return paper
