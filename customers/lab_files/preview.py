"""A waiting file as its page shows it: what will be taken in, what stands in the way, what wants a look."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from customers.households.models import Site
from customers.lab_files.columns import Layout, guess, layout_from, overlooked
from customers.lab_files.doubts import Doubt, doubts_of
from customers.lab_files.matching import Candidates, Match, match_of
from customers.lab_files.models import LabFile
from customers.lab_files.reading import FileRead, SampleRead, read_file
from customers.sheets import SheetRefused, Table, read_table
from customers.water_tests.models import WaterTest


@dataclass(frozen=True)
class SampleView:
    """A sample with where it belongs and what is doubtful. ``ident`` is its name in forms."""

    ident: str
    read: SampleRead
    match: Match
    doubts: tuple[Doubt, ...]
    sure: bool
    answer: Mapping[str, Any]

    @property
    def takes(self) -> int:
        """How many results it brings."""
        return 0 if self.match.left else len(self.read.taken)

    @property
    def problems(self) -> tuple[str, ...]:
        """What stands in its way, in sentences."""
        if self.match.left:
            return ()
        told = list(self.match.errors)
        told += [
            _("row %(row)s: %(message)s") % {"row": line.printed.row, "message": line.message}
            for line in self.read.refused
        ]
        if not self.read.taken and not self.read.refused:
            told.append(_("no result to take in; leave the sample out"))
        if self.doubts and not self.sure:
            told.append(_("look at what is doubtful, then say that it is right as printed"))
        return tuple(told)


@dataclass(frozen=True)
class Preview:
    """The whole file. ``refused`` says why the file cannot be read at all."""

    lab_file: LabFile
    table: Table | None
    layout: Layout
    read: FileRead | None
    samples: tuple[SampleView, ...]
    candidates: Candidates | None
    refused: str = ""
    doubts: tuple[Doubt, ...] = ()
    sure: bool = True

    @property
    def questions(self) -> tuple[str, ...]:
        """Questions about the file as a whole that are still open."""
        if self.read is None:
            return ()
        asked = []
        if self.read.ask_days:
            asked.append(_("which comes first in its days, day or month?"))
        if self.read.ask_comma:
            asked.append(_("what does the comma in “%(text)s” mean?") % {"text": self.read.commas.example})
        if self.doubts and not self.sure:
            asked.append(_("look at the columns left out, then say that it is right"))
        return (*self.read.wrong, *asked)

    @property
    def problems(self) -> tuple[tuple[str, str], ...]:
        """Everything in the way: (anchor, sentence)."""
        told = [("h-columns", text) for text in self.questions]
        for view in self.samples:
            told += [(f"sample-{view.ident}", f"{view.read.name}: {text}") for text in view.problems]
        if self.read is not None and not self.read.wrong and not any(view.takes for view in self.samples):
            told.append(("h-samples", _("nothing is left to take in")))
        return tuple(told)

    @property
    def open_sites(self) -> tuple[Site, ...]:
        """Households that wait for results, for the list beside the field."""
        draws = self.candidates.open_draws if self.candidates else ()
        return tuple(dict.fromkeys(draw.sampling.site for draw in draws))

    @property
    def ready(self) -> bool:
        """Whether it can be taken in."""
        return self.read is not None and not self.problems

    @property
    def total(self) -> int:
        """How many results it brings."""
        return sum(view.takes for view in self.samples)

    @property
    def summary(self) -> str:
        """What taking in would do, in a line."""
        tests = sum(1 for view in self.samples if view.takes)
        results = ngettext("%(n)s result", "%(n)s results", self.total) % {"n": self.total}
        return ngettext("%(results)s in %(n)s test", "%(results)s in %(n)s tests", tests) % {
            "results": results,
            "n": tests,
        }


def preview_of(lab_file: LabFile, sites: QuerySet[Site], today: date) -> Preview:
    """Read a file with what was answered so far. Nothing is kept."""
    answers = lab_file.answers or {}
    stored = layout_from(answers.get("layout")) if answers.get("layout") else None
    remembered = layout_from(lab_file.laboratory.layout)
    known = stored or remembered
    with lab_file.file.open("rb") as handle:
        data = handle.read()
    try:
        table = _table(data, lab_file.name, known)
    except SheetRefused as refused:
        return Preview(lab_file, None, known, None, (), None, str(refused))
    layout = stored if stored and stored.columns else guess(table, known)
    read = read_file(table, layout, set(answers.get("left") or ()))
    told: dict[str, Any] = answers.get("samples") or {}
    named = [f"{answer.get('site') or ''} {answer.get('draw') or ''}" for answer in told.values()]
    candidates = Candidates.of(read.samples, named, sites)
    matches = [match_of(sample, told.get(sample.name) or {}, candidates, today) for sample in read.samples]
    there = _on_file(matches)
    views = [
        _view(number, sample, match, told.get(sample.name) or {}, today, there)
        for number, (sample, match) in enumerate(zip(read.samples, matches, strict=True), start=1)
    ]
    doubts = tuple(_left_columns(table, read, remembered)) if not read.wrong else ()
    sure = {doubt.key for doubt in doubts} <= set(answers.get("sure") or ())
    return Preview(lab_file, table, layout, read, tuple(views), candidates, doubts=doubts, sure=sure)


def _left_columns(table: Table, read: FileRead, remembered: Layout) -> Iterable[Doubt]:
    """Columns that hold results and are not read: said, and to be agreed to once."""
    for column in overlooked(table, read.columns, remembered.columns):
        text = _("column “%(heading)s” holds results and is left out") % {"heading": column.label}
        yield Doubt(f"column|{column.key}", text)


def _table(data: bytes, name: str, layout: Layout) -> Table:
    """The table by the sheet and heading row of the layout; a file that has no such sheet or row is read afresh."""
    try:
        return read_table(data, name, header_row=layout.header_row, sheet=layout.sheet or None)
    except SheetRefused:
        if layout.header_row is None and not layout.sheet:
            raise
        return read_table(data, name)


def _view(
    number: int,
    sample: SampleRead,
    match: Match,
    answer: Mapping[str, Any],
    today: date,
    there: Mapping[tuple[int, date, str], str],
) -> SampleView:
    doubts = [] if match.left else doubts_of(sample, match.day, today)
    if match.site is not None and match.day is not None and not match.left:
        earlier = there.get((match.site.pk, match.day, match.place))
        if earlier is not None:
            text = _("a test of this household, place and day is on file already (%(test)s)") % {"test": earlier}
            doubts.append(Doubt(f"{sample.name}|again", text))
    sure = set(answer.get("sure") or ())
    looked = bool(doubts) and {doubt.key for doubt in doubts} <= sure
    return SampleView(str(number), sample, match, tuple(doubts), looked, answer)


def _on_file(matches: list[Match]) -> dict[tuple[int, date, str], str]:
    """Tests already on file of the households and days in question: one query."""
    sites = {match.site.pk for match in matches if match.site is not None and not match.left}
    days = {match.day for match in matches if match.day is not None}
    rows = WaterTest.objects.filter(site__in=sites, sampled_on__in=days) if sites and days else ()
    return {
        (row.site_id, row.sampled_on, row.place): row.report_number or date_format(row.sampled_on, "j M Y")
        for row in rows
    }
