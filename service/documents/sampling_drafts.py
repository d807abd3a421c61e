"""The two papers of a sampling: the sheet for whoever draws, the form that goes with the bottles."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _

from customers.samplings.models import Sampling
from customers.samplings.queries import asked_of_lab, bottles_of, measured_at_tap, sampling_with_draws
from service.documents.actions import PaperDraft
from service.documents.models import PaperKind
from service.documents.rows import terse
from service.documents.sampling_rows import DrawView, draw_views, names_of, packing_list
from service.installs.water_path import path_of_site
from sizing.engine.limits import limit_set
from sizing.engine.sampling import Bottle, steps_of
from sizing.engine.stages.practice_text import cautions_named
from sizing.engine.water import ANALYTES

SAMPLING_PAPERS = (PaperKind.SAMPLING_SHEET, PaperKind.CUSTODY)
CARRIERS = 3  # how often the bottles may change hands on the form


def sampling_draft(sampling: Sampling, kind: PaperKind) -> PaperDraft:
    """The sheet or the custody form of a sampling."""
    row = sampling_with_draws(sampling)
    views = draw_views(row)
    context = {"sampling": row, "laboratory": row.laboratory, "views": views}
    title = _("Sampling, %(place)s") if kind == PaperKind.SAMPLING_SHEET else _("Chain of custody, %(place)s")
    return PaperDraft(
        kind=kind,
        site=row.site,
        about=row.public_id,
        number=row.label,
        title=title % {"place": row.site.name},
        for_customer=False,
        context=context | (_sheet(row, views) if kind == PaperKind.SAMPLING_SHEET else _custody(row, views)),
    )


def _sheet(sampling: Sampling, views: list[DrawView]) -> dict[str, Any]:
    """What whoever draws needs: what to bring, where, how, and lines to write on."""
    draws = list(sampling.draws.all())
    bottles = [bottle for draw in draws for bottle in bottles_of(draw, sampling.laboratory)]
    readings = [
        (view.number, _(ANALYTES[code].name), ANALYTES[code].unit)
        for view, draw in zip(views, draws, strict=True)
        for code in measured_at_tap(draw)
    ]
    return {
        "packing": packing_list(views),
        "steps": steps_of(bottles),
        "readings": readings,
        "cautions": cautions_named(_cautions(bottles)),
        "path": terse(path_of_site(sampling.site, sampling.planned_on, most_rows=1)),
    }


def _cautions(bottles: Iterable[Bottle]) -> list[str]:
    """Cautions by what is in the box."""
    kinds = {bottle.kind.code for bottle in bottles}
    hazard = any(bottle.kind.hazard for bottle in bottles)
    flame = kinds & {"microbes", "iron_bacteria"}
    codes = ["germs", "hot_water", "crawl_space"]
    return [*(["bottle_acid"] if hazard else []), *(["flame"] if flame else []), *codes]


def _custody(sampling: Sampling, views: list[DrawView]) -> dict[str, Any]:
    """What goes with the bottles: samples, tests with the limits they will be judged by, hands they pass through."""
    draws = list(sampling.draws.all())
    asked = list(dict.fromkeys(code for draw in draws for code in asked_of_lab(draw)))
    limits: dict[str, str] = {}
    for limit in limit_set(sampling.site.dealer.jurisdiction):
        limits.setdefault(limit.analyte, _("none") if limit.sense == "max" and limit.value == 0 else limit.printed)
    tests = [
        {
            "name": _(ANALYTES[code].name),
            "unit": " ".join(part for part in (ANALYTES[code].unit, ANALYTES[code].basis) if part),
            "limit": limits.get(code, "–"),
            "samples": ", ".join(f"-{draw.position}" for draw in draws if code in asked_of_lab(draw)),
        }
        for code in sorted(asked, key=list(ANALYTES).index)
    ]
    rows = [
        {
            "view": view,
            "draw": draw,
            "count": sum(line.count for line in view.bottles),
            "tests": names_of(asked_of_lab(draw)),
        }
        for view, draw in zip(views, draws, strict=True)
        if asked_of_lab(draw)
    ]
    middle = (len(tests) + 1) // 2
    return {
        "samples": rows,
        "halves": [half for half in (tests[:middle], tests[middle:]) if half],
        "carriers": range(1, CARRIERS + 1),
    }
