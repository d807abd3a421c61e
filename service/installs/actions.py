"""Writes about installs: from an accepted quote to stages in service, proven, laid up and renewed."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from customers.dealers.actions import next_number
from customers.households.actions import add_log
from customers.households.models import Site
from customers.households.queries import season_of
from service.installs.lives import due_day, part_fields
from service.installs.models import FittedPart, Install, InstalledStage, PartRenewal, StageState
from service.installs.queries import current_stages
from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import PlacedStage
from sizing.engine.storage import to_data
from sizing.engine.upkeep import Use
from sizing.proposals.queries import train_value
from sizing.quotes.models import Quote, QuoteState


class InstallRefused(ValueError):
    """An install cannot be made or moved on; the message says why and what would do."""


@transaction.atomic
def install_from_quote(*, quote: Quote, now: datetime) -> Install:
    """The install of an accepted quote, its stages and their wearing parts; made once, found again after.

    Stages whose quote lines are all options the customer left out are not made. Positions count on from the
    stages already there, so that old and new can be told apart until the new ones are commissioned.
    Raises ``InstallRefused`` unless the quote is accepted and stands on a design.
    """
    found = Install.objects.filter(quote=quote).first()
    if found is not None:
        return found
    if quote.state != QuoteState.ACCEPTED:
        raise InstallRefused(f"{quote.label} is {quote.get_state_display()}; only an accepted quote is installed.")
    if quote.train is None:
        raise InstallRefused(f"{quote.label} stands on no design, so there is nothing to install.")
    install = Install.objects.create(
        dealer=quote.dealer,
        site=quote.site,
        quote=quote,
        number=next_number(dealer=quote.dealer, kind="install"),
        made_at=now,
    )
    placed = _ordered(quote)
    items = {
        item.code: item for item in CatalogueItem.objects.filter(code__in={stage.product.code for stage in placed})
    }
    taken = current_stages(quote.site).order_by("-position").values_list("position", flat=True).first() or 0
    for position, stage in enumerate(placed, start=taken + 1):
        _make_stage(install, position, stage, items.get(stage.product.code))
    return install


def _ordered(quote: Quote) -> list[PlacedStage]:
    """The train's stages that were bought: main line first, polishing units last."""
    left_out: dict[int, bool] = {}
    for line in quote.lines.exclude(stage_number=None):
        number = int(line.stage_number or 0)
        left_out[number] = left_out.get(number, True) and line.optional and not line.chosen
    assert quote.train is not None
    stages = train_value(quote.train).stages
    ordered = [s for s in stages if s.at == "main"] + [s for s in stages if s.at != "main"]
    return [stage for number, stage in enumerate(ordered, start=1) if not left_out.get(number, False)]


def _make_stage(install: Install, position: int, placed: PlacedStage, item: CatalogueItem | None) -> None:
    stage = InstalledStage.objects.create(
        dealer=install.dealer,
        site=install.site,
        install=install,
        item=item,
        position=position,
        kind=placed.kind.value,
        name=placed.product.name,
        size_label=placed.product.size_label,
        at=placed.at,
        count=placed.count,
        planned=to_data(placed),
    )
    for wear in placed.wear:
        FittedPart.objects.create(dealer=install.dealer, stage=stage, **part_fields(wear))


@transaction.atomic
def commission(*, install: Install, on: date, actor_name: str, now: datetime) -> Install:
    """Put the install's stages in service on ``on``: parts new, next dates set, what stood there before retired.

    A design covers the whole treatment, so stages of earlier installs are retired. The water is not proven
    by this: ``proven_on`` waits for the laboratory. Commissioning twice with the same day changes nothing;
    with another day raises ``InstallRefused``.
    """
    if install.commissioned_on is not None:
        if install.commissioned_on == on:
            return install
        raise InstallRefused(f"{install.label} was commissioned on {install.commissioned_on}, not on {on}.")
    own = list(install.stages.exclude(state=StageState.RETIRED))
    if not own:
        raise InstallRefused(f"{install.label} has no stages to put in service.")
    current_stages(install.site).exclude(install=install).update(state=StageState.RETIRED)
    site, use = install.site, season_of(install.site)
    for position, stage in enumerate(own, start=1):
        stage.position, stage.state, stage.fitted_on = position, StageState.IN_SERVICE, on
        stage.save(update_fields=["position", "state", "fitted_on"])
        for part in stage.parts.all():
            _anchor(part, on, site, use)
    install.commissioned_on = on
    install.save(update_fields=["commissioned_on"])
    add_log(site=install.site, who=actor_name, what=f"{install.label} commissioned; not yet proven.", at=now)
    return install


@transaction.atomic
def prove(*, install: Install, on: date) -> Install:
    """Note that a laboratory sample of ``on`` proved the install. A proof stands: a later one changes nothing.

    Raises ``InstallRefused`` before commissioning or for a sample drawn before it.
    """
    if install.commissioned_on is None:
        raise InstallRefused(f"{install.label} is not commissioned yet; a sample proves it only afterwards.")
    if on < install.commissioned_on:
        raise InstallRefused(f"The sample of {on} was drawn before commissioning on {install.commissioned_on}.")
    if install.proven_on is None:
        install.proven_on = on
        install.save(update_fields=["proven_on"])
    return install


@transaction.atomic
def renew_part(*, part: FittedPart, on: date, actor_name: str, note: str = "") -> PartRenewal:
    """The part was renewed (or looked at) on ``on``: history gets a line, its life starts again.

    The same part on the same day is one renewal. An older day never moves the anchor back. Raises
    ``InstallRefused`` for a part of a retired stage.
    """
    if part.stage.state == StageState.RETIRED:
        raise InstallRefused(f"{part.stage.name} is retired; nothing in it is renewed.")
    renewal = PartRenewal.objects.filter(part=part, done_on=on).first()
    if renewal is None:
        renewal = PartRenewal.objects.create(dealer=part.dealer, part=part, done_on=on, done_by=actor_name, note=note)
    if part.renewed_on is None or on > part.renewed_on:
        _anchor(part, on, part.stage.site, season_of(part.stage.site))
    return renewal


def _anchor(part: FittedPart, on: date, site: Site, use: Use) -> None:
    """Start the part's life on ``on`` and set when it falls due."""
    part.renewed_on = on
    part.next_due_on = due_day(part, site, use, on)
    part.save(update_fields=["renewed_on", "next_due_on"])


@transaction.atomic
def lay_up(*, site: Site, actor_name: str, now: datetime) -> int:
    """Lay up every stage in service (closing). Returns how many; a second call finds none."""
    return _move(site, StageState.IN_SERVICE, StageState.LAID_UP, "laid up for the winter", actor_name, now)


@transaction.atomic
def put_in_service(*, site: Site, actor_name: str, now: datetime) -> int:
    """Put every laid-up stage back in service (opening). Returns how many; a second call finds none."""
    return _move(site, StageState.LAID_UP, StageState.IN_SERVICE, "back in service", actor_name, now)


def _move(site: Site, old: str, new: str, words: str, actor_name: str, now: datetime) -> int:
    moved: int = InstalledStage.objects.filter(site=site, state=old).update(state=new)
    if moved:
        add_log(site=site, who=actor_name, what=f"{moved} stages {words}.", at=now)
    return moved


@transaction.atomic
def note_serial(*, stage: InstalledStage, serial: str) -> InstalledStage:
    """Keep the serial number read off the unit. Raises ``InstallRefused`` for an empty one."""
    serial = serial.strip()
    if not serial:
        raise InstallRefused(f"{stage.name}: the serial number is empty; type it as it stands on the plate.")
    stage.serial = serial[:60]
    stage.save(update_fields=["serial"])
    return stage
