"""A laboratory's file taken in whole or not at all, and taken back while nothing rests on it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from customers.dealers.queries import today_at
from customers.households.log import add_log
from customers.households.queries import sites_for
from customers.lab_files.actions import LabFileRefused, move
from customers.lab_files.models import LabFile, LabFileState, LabFileTest
from customers.lab_files.preview import SampleView, preview_of
from customers.lab_files.queries import tests_in
from customers.laboratories.actions import remember_layout
from customers.people.actors import Actor
from customers.samplings.actions import SamplingRefused, take_back_answer
from customers.samplings.models import DrawMode, Purpose
from customers.water_tests.actions import RefusedRows
from customers.water_tests.microbes import Said
from customers.water_tests.models import DrinkNotice, WaterTest
from customers.water_tests.notices import sample_of
from service.documents.models import Paper, PaperKind
from service.installs.models import Install
from service.milestones.actions import take_in_water_test
from sizing.proposals.models import Proposal


@transaction.atomic
def take_in_lab_file(*, lab_file: LabFile, actor: Actor, now: datetime) -> list[WaterTest]:
    """Every sample of a waiting file becomes a water test; what follows is as from one typed in.

    All of it or nothing. Raises ``LabFileRefused`` naming what still stands in the way.
    """
    move(
        lab_file=lab_file,
        out_of=LabFileState.WAITING,
        to=LabFileState.TAKEN_IN,
        taken_in_by=actor.name,
        taken_in_at=now,
    )
    preview = preview_of(lab_file, sites_for(actor), today_at(actor.dealer, now))
    if not preview.ready:
        told = [preview.refused, *(text for _anchor, text in preview.problems)]
        raise LabFileRefused(" ".join(text for text in told if text))
    tests = []
    for view in preview.samples:
        if view.takes:
            tests.append(_take_in(view, lab_file, actor, now))
    remember_layout(laboratory=lab_file.laboratory, layout=preview.layout.stored())
    return tests


def _take_in(view: SampleView, lab_file: LabFile, actor: Actor, now: datetime) -> WaterTest:
    match = view.match
    assert match.site is not None  # a ready preview has a household for every sample
    sampling = match.draw.sampling if match.draw else None
    try:
        test = take_in_water_test(
            site=match.site,
            actor_name=actor.name,
            now=now,
            heading={
                "kind": "lab",
                "place": match.place,
                "point": match.point,
                "sampled_on": match.day,
                "sampled_by": sampling.drawer if sampling else "",
                "laboratory": lab_file.laboratory.name,
                "report_number": view.read.report[:60],
                "note": _note(view),
                "proves_install": bool(sampling and sampling.purpose == Purpose.PROVE),
            },
            rows=[line.as_row() for line in view.read.taken],
            draw=match.draw,
        )
    except (RefusedRows, SamplingRefused) as refused:
        raise LabFileRefused(f"{view.read.name}: {refused}") from None
    LabFileTest.objects.create(dealer_id=lab_file.dealer_id, lab_file=lab_file, test=test, sample=view.read.name[:80])
    return test


def _note(view: SampleView) -> str:
    """The laboratory's name for the sample, and how it was drawn where that matters."""
    note = _("sample %(name)s") % {"name": view.read.name[:80]}
    draw = view.match.draw
    return f"{note}, {draw.get_mode_display()}" if draw and draw.mode == DrawMode.FIRST_DRAW else note


def rests_on(lab_file: LabFile) -> list[str]:
    """What has come to rest on the tests of a file since, in sentences; then it cannot be taken back."""
    told = []
    for row in tests_in(lab_file):
        since = lab_file.taken_in_at or row.test.entered_at
        told += [f"{row.test.site.name}: {text}" for text in _rests_on_test(row.test, since)]
    return told


def _rests_on_test(test: WaterTest, since: datetime) -> list[str]:
    told = []
    site = test.site
    notices = DrinkNotice.objects.filter(site=site)
    if notices.filter(because=test).exists():
        told.append(_("a do-not-drink notice stands on it"))
    standing = Q(lifted_on__isnull=True, clear_samples__gt=0) | Q(lifted_on__gte=today_at(site.dealer, since))
    counted = notices.filter(standing, remedy_on__lt=test.sampled_on)
    if sample_of(test).said is Said.CLEAR and counted.exists():
        told.append(_("it counts as a clear sample after a remedy"))
    if Install.objects.filter(site=site, proven_on=test.sampled_on).exists():
        told.append(_("an installation is proven by it"))
    if Proposal.objects.filter(site=site, made_at__gte=since).exists():
        told.append(_("a design was made since"))
    papers = (PaperKind.WATER_REPORT, PaperKind.QUOTE, PaperKind.WORKSHEET)
    if Paper.objects.filter(site=site, kind__in=papers, made_at__gte=since).exists():
        told.append(_("a paper was made since"))
    return told


@transaction.atomic
def take_back_lab_file(*, lab_file: LabFile, actor_name: str, now: datetime) -> LabFile:
    """Undo the taking in: its tests go, its samplings wait again, the file stays on record.

    Raises ``LabFileRefused`` once something rests on one of its tests, naming it.
    """
    held = rests_on(lab_file)
    if held:
        told = _("cannot be taken back: %(what)s")
        raise LabFileRefused(told % {"what": "; ".join(held)})
    tests = [row.test for row in tests_in(lab_file)]
    move(lab_file=lab_file, out_of=LabFileState.TAKEN_IN, to=LabFileState.TAKEN_BACK, taken_back_at=now)
    for test in tests:
        take_back_answer(test=test, actor_name=actor_name, now=now)
        told = _("water test of %(day)s taken back, file “%(name)s”")
        words = {"day": test.sampled_on.isoformat(), "name": lab_file.name}
        add_log(site=test.site, who=actor_name, what=told % words, at=now)
        test.delete()
    return lab_file
