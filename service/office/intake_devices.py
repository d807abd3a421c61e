"""What the intake page shows of unknown devices: what can be ticked on each, what each may be, what to look at."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from customers.enquiries.models import EnquiryDevice
from service.office.intake import FEATURE, LEAST_SHARE, choice_of
from service.office.intake_values import Choice, DeviceLine, Step
from sizing.diagnoses.reasoning import Reasoned
from sizing.diagnoses.wording import gain_words, share_words


@dataclass(frozen=True)
class DeviceBlock:
    """One unknown device. ``called`` is what people call it, ``told`` how many things were said of it."""

    number: int
    called: str
    heading: str
    told: int
    taken_for: str
    lines: tuple[DeviceLine, ...]
    look: Step | None


def device_blocks(reasoned: Reasoned, rows: Iterable[EnquiryDevice]) -> list[DeviceBlock]:
    """Every device told of, by number; the first is always among them."""
    kept = {row.number: row for row in rows}
    numbers = sorted({1, *kept, *reasoned.answers.things})
    found = []
    for number in numbers:
        row = kept.get(number)
        called = row.called if row else ""
        plain = _("The device") if len(numbers) == 1 else _("Device %(n)s") % {"n": number}
        found.append(
            DeviceBlock(
                number=number,
                called=called,
                heading=f"{plain}: {called}" if called else plain,
                told=len(reasoned.answers.features(number)),
                taken_for=row.taken_for if row else "",
                lines=tuple(device_lines(reasoned, number)),
                look=device_question(reasoned, number),
            )
        )
    return found


def feature_choices(reasoned: Reasoned, thing: int = 1) -> list[Choice]:
    """Everything that can be seen on a device."""
    answers, tables = reasoned.answers.features(thing), reasoned.tables
    found = (choice_of(tables, FEATURE, code, answers.get(code, ""), thing=thing) for code in tables.features)
    return [choice for choice in found if choice is not None]


def device_lines(reasoned: Reasoned, thing: int = 1, most: int = 3) -> list[DeviceLine]:
    """The likeliest devices; none while nothing was told of this one."""
    found = reasoned.identifications.get(thing)
    if found is None:
        return []
    devices = reasoned.tables.devices
    return [
        DeviceLine(
            code=one.code,
            words=_(one.words),
            share=share_words(one.probability),
            percent=round(one.probability * 100),
            look_alikes=tuple(_(devices[code].words) for code in one.look_alikes if code in devices),
            tell_apart=_(one.tell_apart) if one.tell_apart else "",
            confirm=_(one.confirm) if one.confirm else "",
            photograph=_(one.photograph) if one.photograph else "",
            read_on_it=tuple(_(words) for words in one.read_on_it),
            caution=_(one.caution) if one.caution else "",
            stage_kind=one.stage_kind,
        )
        for one in found.devices[:most]
        if one.probability >= LEAST_SHARE
    ]


def device_question(reasoned: Reasoned, thing: int = 1) -> Step | None:
    """The next thing to look at on the device."""
    found = reasoned.identifications.get(thing)
    if found is None or not found.questions:
        return None
    one = found.questions[0]
    return Step(choice_of(reasoned.tables, FEATURE, one.code, thing=thing), _(one.words), gain_words(one.gain_bits))
