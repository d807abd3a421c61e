"""Writing quotes. Only drafts change; an issued quote is answered, lapses or is replaced by a new version."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from customers.dealers.actions import next_number
from customers.dealers.queries import today_at
from customers.households.models import LogEntry
from customers.people.models import User
from sizing.catalogue.queries import items_by_code, prices_of_day
from sizing.engine.design import Train
from sizing.engine.storage import from_data
from sizing.proposals.keeping import mark_quoted
from sizing.proposals.models import ProposedTrain
from sizing.quotes.lines import lines_of
from sizing.quotes.models import Quote, QuoteAnswer, QuoteLine, QuoteState


class QuoteNotOpen(ValueError):
    """The quote is in a state that does not allow this; says which state it is in and what is possible."""


class WrongDocument(ValueError):
    """The answer was given to a document that is not the issued one."""


class LineNotQuotable(ValueError):
    """The line of a design cannot be offered; says why and what would do."""


class Unsigned(ValueError):
    """An acceptance without a name."""


def _log(quote: Quote, who: str, what: str, now: datetime) -> None:
    LogEntry.objects.create(dealer_id=quote.dealer_id, site_id=quote.site_id, at=now, who=who, what=what)


def _must_be(quote: Quote, *states: QuoteState) -> None:
    quote.refresh_from_db(fields=["state"])
    if quote.state not in states:
        wanted = " or ".join(str(state.label) for state in states)
        raise QuoteNotOpen(f"{quote} is {quote.get_state_display()}; this needs a quote that is {wanted}")


@transaction.atomic
def draft_quote(*, train: ProposedTrain, actor_name: str, now: datetime) -> Quote:
    """Draft a quote from an alternative of a design: its stages at the prices of the day, which the log compares with
    the design's.

    Raises ``LineNotQuotable`` for a line that breaks a limit or was deleted.
    """
    train.refresh_from_db(fields=["breaks", "deleted_at"])
    if train.breaks:
        raise LineNotQuotable(f"line {train.letter} breaks a limit ({train.breaks[0]['limit']}); mend it first")
    if train.deleted_at is not None:
        raise LineNotQuotable(f"line {train.letter} was deleted; bring it back first")
    mark_quoted(train=train)
    site = train.proposal.site
    dealer = site.dealer
    quote = Quote.objects.create(
        dealer=dealer,
        site=site,
        train=train,
        number=next_number(dealer=dealer, kind="quote"),
        title=f"Treating the water at {site.name}"[:120],
        currency=dealer.currency,
        tax_name=dealer.tax_name,
        tax_rate=dealer.tax_rate,
        valid_days=dealer.quote_valid_days,
        drafted_by=actor_name,
        drafted_at=now,
    )
    value: Train = from_data(Train, train.data)
    drafts = lines_of(value, labour_per_hour=dealer.labour_per_hour, visit_price=dealer.visit_price)
    items = items_by_code({line.product_code for line in drafts if line.product_code})
    prices = prices_of_day(items, today_at(dealer, now))
    QuoteLine.objects.bulk_create(
        QuoteLine(
            dealer=dealer,
            quote=quote,
            position=position,
            stage_number=line.stage_number,
            item=items.get(line.product_code),
            description=line.description,
            why=line.why,
            quantity=line.quantity,
            unit_price=prices.get(line.product_code, line.unit_price),
            optional=line.optional,
            chosen=not line.optional,
        )
        for position, line in enumerate(drafts, start=1)
    )
    moved = [line for line in drafts if prices.get(line.product_code, line.unit_price) != line.unit_price]
    since = f", {len(moved)} prices changed since the design" if moved else ""
    _log(quote, actor_name, f"drafted {quote} from {train.proposal}, {train}{since}", now)
    return quote


@transaction.atomic
def add_line(
    *,
    quote: Quote,
    description: str,
    unit_price: Decimal,
    quantity: Decimal = Decimal(1),
    why: str = "",
    optional: bool = False,
) -> QuoteLine:
    """Add a line to a draft. An optional line counts only once chosen."""
    _must_be(quote, QuoteState.DRAFTED)
    last = quote.lines.aggregate(last=Max("position"))["last"] or 0
    line = QuoteLine(
        dealer_id=quote.dealer_id,
        quote=quote,
        position=last + 1,
        description=description,
        why=why,
        quantity=quantity,
        unit_price=unit_price,
        optional=optional,
        chosen=not optional,
    )
    line.full_clean()
    line.save()
    return line


@transaction.atomic
def change_line(
    *,
    line: QuoteLine,
    description: str,
    unit_price: Decimal,
    quantity: Decimal,
    why: str,
    optional: bool,
    chosen: bool,
) -> QuoteLine:
    """Change a line of a draft; a line that is not optional is always chosen."""
    _must_be(line.quote, QuoteState.DRAFTED)
    line.description, line.unit_price, line.quantity, line.why = description, unit_price, quantity, why
    line.optional, line.chosen = optional, chosen or not optional
    line.full_clean()
    line.save()
    return line


@transaction.atomic
def remove_line(*, line: QuoteLine) -> None:
    """Take a line out of a draft."""
    _must_be(line.quote, QuoteState.DRAFTED)
    line.delete()


@transaction.atomic
def change_terms(*, quote: Quote, title: str, note: str, tax_name: str, tax_rate: Decimal, valid_days: int) -> Quote:
    """Change title, note, tax and validity of a draft."""
    _must_be(quote, QuoteState.DRAFTED)
    quote.title, quote.note = title, note
    quote.tax_name, quote.tax_rate, quote.valid_days = tax_name, tax_rate, valid_days
    quote.full_clean()
    quote.save()
    return quote


@transaction.atomic
def mark_issued(*, quote: Quote, now: datetime, today: date, actor_name: str, fingerprint: str) -> Quote:
    """Issue a draft: it is dated, valid to a day, tied to its PDF by hash, and from now on never changes.

    An earlier version that was still open becomes "replaced".
    """
    _must_be(quote, QuoteState.DRAFTED)
    if not quote.lines.filter(chosen=True).exists():
        raise QuoteNotOpen(f"{quote} has no chosen line; add one before issuing it")
    quote.state = QuoteState.ISSUED
    quote.issued_at = now
    quote.valid_until = today + timedelta(days=quote.valid_days)
    quote.fingerprint = fingerprint
    quote.save()
    if quote.replaces_id:
        Quote.objects.filter(
            pk=quote.replaces_id, state__in=[QuoteState.ISSUED, QuoteState.DECLINED, QuoteState.LAPSED]
        ).update(state=QuoteState.REPLACED)
    _log(quote, actor_name, f"issued {quote}, open until {quote.valid_until:%-d %b %Y}", now)
    return quote


@transaction.atomic
def record_answer(
    *,
    quote: Quote,
    accepted: bool,
    name: str,
    signature: str,
    reason: str,
    user: User,
    address: str | None,
    user_agent: str,
    document_hash: str,
    now: datetime,
    today: date,
) -> QuoteAnswer:
    """Keep the customer's answer: name, time, address, and the hash of the document it was given to.

    Raises ``QuoteNotOpen`` when it is not open any more (lapsed, replaced, answered), ``WrongDocument``
    when the page showed another document than the issued one, ``Unsigned`` for an acceptance without a
    name. The state moves by conditional update, so two answers at once leave one.
    """
    if not name.strip():
        raise Unsigned("name is empty, accepted is the full name of the person who answers")
    if document_hash != quote.fingerprint:
        raise WrongDocument(
            f"the answer is for document {document_hash[:12] or 'none'}, issued is {quote.fingerprint[:12]}"
        )
    if quote.valid_until is not None and today > quote.valid_until:
        raise QuoteNotOpen(f"{quote} was open until {quote.valid_until:%-d %b %Y}; ask for a new one")
    state = QuoteState.ACCEPTED if accepted else QuoteState.DECLINED
    moved = Quote.objects.filter(pk=quote.pk, state=QuoteState.ISSUED).update(state=state)
    if not moved:
        _must_be(quote, QuoteState.ISSUED)
    quote.refresh_from_db()
    answer = QuoteAnswer.objects.create(
        dealer_id=quote.dealer_id,
        quote=quote,
        accepted=accepted,
        name=name.strip(),
        signature=signature,
        reason=reason,
        answered_at=now,
        address=address,
        user_agent=user_agent[:300],
        user=user,
        document_hash=document_hash,
    )
    _log(quote, name.strip(), f"{'accepted' if accepted else 'declined'} {quote}", now)
    return answer


@transaction.atomic
def revise_quote(*, quote: Quote, actor_name: str, now: datetime) -> Quote:
    """The next version of a quote as a new draft with the same lines. Accepted quotes are not revised."""
    _must_be(quote, QuoteState.ISSUED, QuoteState.DECLINED, QuoteState.LAPSED)
    if Quote.objects.filter(replaces=quote).exists():
        raise QuoteNotOpen(f"{quote} already has a later version")
    lines = list(quote.lines.all())
    copy = Quote.objects.create(
        dealer_id=quote.dealer_id,
        site_id=quote.site_id,
        train_id=quote.train_id,
        number=quote.number,
        version=quote.version + 1,
        replaces=quote,
        title=quote.title,
        note=quote.note,
        currency=quote.currency,
        tax_name=quote.tax_name,
        tax_rate=quote.tax_rate,
        valid_days=quote.valid_days,
        drafted_by=actor_name,
        drafted_at=now,
    )
    fields = (
        "position",
        "stage_number",
        "item_id",
        "description",
        "why",
        "quantity",
        "unit_price",
        "optional",
        "chosen",
    )
    QuoteLine.objects.bulk_create(
        QuoteLine(dealer_id=quote.dealer_id, quote=copy, **{name: getattr(line, name) for name in fields})
        for line in lines
    )
    _log(copy, actor_name, f"drafted {copy}", now)
    return copy


@transaction.atomic
def lapse_quotes(*, today: date, now: datetime) -> int:
    """Lapse the dealer's open quotes whose last day is past; returns how many."""
    late = list(Quote.objects.filter(state=QuoteState.ISSUED, valid_until__lt=today))
    for quote in late:
        if Quote.objects.filter(pk=quote.pk, state=QuoteState.ISSUED).update(state=QuoteState.LAPSED):
            _log(quote, "calendar", f"{quote} lapsed", now)
    return len(late)
