"""Labels that stay on the equipment: number, name, serial, dates, the dealer's phone, and a code to the file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import segno
from django.conf import settings
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from customers.households.models import Site
from service.documents.rows import lowered, unsaid
from service.documents.words import typeset
from service.installs.models import InstalledStage
from service.installs.water_path import first_due
from service.installs.words import day_words


@dataclass(frozen=True)
class Label:
    """One label. ``next_on`` with ``part`` is what falls due first; texts are "" where nothing is known."""

    number: int
    name: str
    size: str
    serial: str
    fitted: str
    next_on: str
    part: str
    note: str
    code: SafeString


def labels_of(site: Site, stages: Sequence[InstalledStage]) -> list[Label]:
    """A label for every stage, numbered as in the water path."""
    address = settings.PUBLIC_URL + reverse("household", args=[site.public_id])
    ordered = sorted(stages, key=lambda stage: (stage.at != "main", stage.position))
    code = code_svg(address, _("Code that opens the household's file"))
    return [_label(number, stage, code) for number, stage in enumerate(ordered, start=1)]


def _label(number: int, stage: InstalledStage, code: SafeString) -> Label:
    part = first_due(stage)
    barrier = _("Lamp off or alarm: treat the water as raw and call.")
    return Label(
        number=number,
        name=typeset(stage.name),
        size=unsaid(stage.size_label, stage.name),
        serial=stage.serial,
        fitted=day_words(stage.fitted_on) if stage.fitted_on else "",
        next_on=day_words(part.next_due_on) if part and part.next_due_on else "",
        part=lowered(part.name) if part and part.next_due_on else "",
        note=barrier if stage.kind == "uv" else "",
        code=code,
    )


def code_svg(address: str, title: str) -> SafeString:
    """A QR code as a drawing with its title. Medium error correction: a scuffed label still reads."""
    drawn = segno.make(address, error="m", micro=False)
    return mark_safe(drawn.svg_inline(border=0, omitsize=True, svgclass="qr", lineclass=None, title=title))
