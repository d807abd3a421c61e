"""What a design still wants to know, and the visit or sample to book for it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from customers.households.models import Site
from service.jobs.models import JobKind
from sizing.engine.findings import Finding
from sizing.engine.water import ANALYTES
from sizing.proposals.adapters import RAW_TEST

#: Findings that say something was not measured; their subject is the analyte.
UNTESTED = (
    "feed_not_tested", "goal_not_tested", "coliform_not_tested", "assumed_value", "temperature_assumed",
)  # fmt: skip
ON_THE_SPOT = ("temperature",)  # read at a visit, without a bottle
MOST_WORDS = 190


@dataclass(frozen=True)
class Wanted:
    """Something not measured, why it matters, and whether it holds the design up altogether."""

    code: str
    name: str
    why: tuple[str, ...] = ()


@dataclass(frozen=True)
class Booking:
    """One visit to book: what it is for, and the address of the form that plans it."""

    label: str
    words: str
    address: str


@dataclass(frozen=True)
class Asks:
    """All that is missing, and the visits that would bring it."""

    wanted: tuple[Wanted, ...] = ()
    bookings: tuple[Booking, ...] = ()


def wanted_by(findings: Iterable[Finding]) -> tuple[Wanted, ...]:
    """What findings say was not measured, each analyte once with every reason."""
    reasons: dict[str, list[str]] = {}
    for finding in findings:
        if finding.code in UNTESTED and finding.subject in ANALYTES:
            reasons.setdefault(finding.subject, []).append(finding.message)
    return tuple(Wanted(code, ANALYTES[code].name, tuple(dict.fromkeys(why))) for code, why in reasons.items())


def wanted_codes(codes: Sequence[str], why: str) -> tuple[Wanted, ...]:
    """What the engine named as untested before it would answer at all."""
    return tuple(Wanted(code, ANALYTES[code].name, (why,)) for code in codes if code in ANALYTES)


def asks_of(site: Site, wanted: Sequence[Wanted], steps: Sequence[tuple[str, str]] = ()) -> Asks:
    """What is missing with the visits to book: a sample for the laboratory, and one to measure at the house.

    ``steps`` are measures taken at the house itself: (what, how to get it).
    """
    bottles = [one.name for one in wanted if one.code not in ON_THE_SPOT]
    bottles += [_("a full raw-water analysis") for what, _how in steps if what == RAW_TEST]
    measures = [what for what, _how in steps if what != RAW_TEST]
    measures += [one.name.lower() for one in wanted if one.code in ON_THE_SPOT]
    bookings = []
    if bottles:
        words = _("Sample raw water for: %(names)s") % {"names": ", ".join(bottles)}
        codes = [one.code for one in wanted if one.code not in ON_THE_SPOT]
        bookings.append(Booking(_("Plan the sample"), words, _sampling(site, codes)))
        bookings.append(_booking(site, JobKind.SAMPLE, _("Book the visit"), words))
    if measures:
        words = _("Measure at the house: %(names)s") % {"names": ", ".join(measures)}
        bookings.append(_booking(site, JobKind.SURVEY, _("Book a visit to measure"), words))
    return Asks(tuple(wanted), tuple(bookings))


def _sampling(site: Site, codes: Sequence[str]) -> str:
    """The plan of a sampling of raw water, begun with these tests."""
    told = {"analytes": ",".join(codes), "place": "raw", "purpose": "evidence"}
    return f"{reverse('sampling-new', args=[site.public_id])}?{urlencode(told)}"


def _booking(site: Site, kind: JobKind, label: str, words: str) -> Booking:
    """A link to the form of a new visit, filled in; what does not fit its one line goes into the note."""
    told = {"kind": kind.value, "what": words}
    if len(words) > MOST_WORDS:
        told = {"kind": kind.value, "what": words[: words.index(":")], "note": words}
    return Booking(label, words, f"{reverse('job-new', args=[site.public_id])}?{urlencode(told)}")
