"""Which household, place and draw a sample belongs to: by its number, by the file number, else by hand."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from customers.dealers.queries import zone_of
from customers.households.models import Site
from customers.lab_files.names import fold
from customers.lab_files.reading import SampleRead
from customers.samplings.models import OPEN, SamplingDraw
from customers.water_tests.models import Place

MOST_OPEN = 200
_PLACES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("raw", ("raw", "untreated", "before treatment", "well head", "wellhead", "pre treatment", "source")),
    ("entry", ("after treatment", "treated", "post treatment", "after last stage", "entry point", "point of entry")),
    ("tap", ("kitchen", "drinking tap", "drinking water tap", "tap")),
)


@dataclass(frozen=True)
class Match:
    """Where a sample belongs, as answered or found; ``errors`` say what is still to be said."""

    draw: SamplingDraw | None
    site: Site | None
    place: str
    point: str
    day: date | None
    left: bool
    found_by: str = ""
    errors: tuple[str, ...] = ()


def bare(text: str) -> str:
    """A sample number without its marks: "S-0012-1" and "s 0012 1" are one.

    >>> bare("S-0012-1")
    's00121'
    """
    return re.sub(r"[^a-z0-9]", "", text.casefold())


def place_in(text: str) -> str:
    """The place a laboratory's words name, only where they name one.

    >>> place_in("Kitchen tap"), place_in("raw water, tap at tank")
    ('tap', '')
    """
    words = f" {fold(text)} "
    found = {code for code, names in _PLACES if any(f" {name} " in words for name in names)}
    if "entry" in found and "raw" in found and " untreated " in words:
        return ""
    return next(iter(found)) if len(found) == 1 else ""


@dataclass(frozen=True)
class Candidates:
    """Draws and households a file may be about, read once."""

    draws: Mapping[str, SamplingDraw]
    open_draws: tuple[SamplingDraw, ...]
    sites: Mapping[str, Site]

    @classmethod
    def of(cls, samples: Iterable[SampleRead], named: Iterable[str], sites: QuerySet[Site]) -> Candidates:
        """Look up what samples and answers name: two queries and one for the open draws."""
        samples = list(samples)
        rows = SamplingDraw.objects.select_related("sampling__site__customer", "sampling__laboratory")
        named = list(named)
        said = [f"{sample.name} {sample.client} {sample.place} " for sample in samples] + [
            f"{text} " for text in named
        ]
        numbers = {int(m[1]) for text in said for m in re.finditer(r"s\D?(\d{1,6})\D", text.lower())}
        by_number = {bare(draw.sample_number): draw for draw in rows.filter(sampling__number__in=numbers)}
        opened = tuple(rows.filter(sampling__state__in=OPEN).order_by("-sampling__pk", "position")[:MOST_OPEN])
        texts = [*named, *(s.client for s in samples), *(s.name for s in samples)]
        files = {found for text in texts for found in re.findall(r"[A-Za-z0-9]{1,6}-\d{3,6}", text.upper())}
        known = {site.file_number.upper(): site for site in sites.filter(file_number__in=files)}
        return cls(by_number, opened, known)


def match_of(sample: SampleRead, answer: Mapping[str, Any], candidates: Candidates, today: date) -> Match:
    """Where the sample belongs: an answer goes before what its number says. Errors name what is missing."""
    if answer.get("leave"):
        return Match(None, None, "", "", None, True)
    errors = [*sample.errors] if not answer.get("day") else []
    draw, found_by = _draw(sample, answer, candidates, errors)
    site: Site | None = None
    day = _answered_day(answer) or sample.day
    if draw is not None:
        site, place, point = draw.sampling.site, draw.place, draw.point
        drawn = draw.drawn_at.astimezone(zone_of(site.dealer)).date() if draw.drawn_at else None
        if day is None and not errors:
            day = drawn
        elif drawn and day and day != drawn:
            told = _("%(number)s was drawn on %(drawn)s; the file says %(day)s")
            words = {"number": draw.sample_number, "drawn": drawn.isoformat(), "day": day.isoformat()}
            errors.append(told % words)
    else:
        site, found_by = _site(sample, answer, candidates, errors)
        place = str(answer.get("place") or "") or place_in(f"{sample.place}")
        point = str(answer.get("point") or "").strip().upper()
        if place not in Place.values:
            errors.append(_("say where it was drawn"))
    if day is None and not errors:
        errors.append(_("the file does not say the day of sampling; give it"))
    if day is not None and day > today:
        errors.append(_("%(day)s is still to come; accepted is a day up to today") % {"day": day.isoformat()})
    return Match(draw, site, place, point, day, False, found_by, tuple(dict.fromkeys(errors)))


def _draw(
    sample: SampleRead, answer: Mapping[str, Any], candidates: Candidates, errors: list[str]
) -> tuple[SamplingDraw | None, str]:
    if answer.get("draw") == "none":
        return None, ""
    if chosen := str(answer.get("draw") or ""):
        found = candidates.draws.get(bare(chosen))
        if found is None:
            errors.append(_("“%(text)s” is no sample number of a draw") % {"text": chosen})
        return found, _("chosen by hand")
    for text in (sample.name, *re.findall(r"[Ss]\D?\d{1,6}\D\d{1,2}", f"{sample.client} {sample.place}")):
        if found := candidates.draws.get(bare(text)):
            return found, _("by its number %(number)s") % {"number": found.sample_number}
    return None, ""


def _site(
    sample: SampleRead, answer: Mapping[str, Any], candidates: Candidates, errors: list[str]
) -> tuple[Site | None, str]:
    typed = str(answer.get("site") or "").strip().upper()
    if typed:
        found = candidates.sites.get(typed)
        if found is None:
            errors.append(_("“%(text)s” is no household's file number") % {"text": typed})
        return found, _("chosen by hand")
    named = [number for number in candidates.sites if number in f"{sample.client} {sample.name}".upper()]
    if len(named) == 1:
        return candidates.sites[named[0]], _("by the file number %(number)s") % {"number": named[0]}
    errors.append(_("say which household it is of"))
    return None, ""


def _answered_day(answer: Mapping[str, Any]) -> date | None:
    try:
        return date.fromisoformat(str(answer.get("day") or ""))
    except ValueError:
        return None
