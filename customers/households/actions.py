"""Writes of the household file."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from customers.dealers.actions import next_number
from customers.dealers.queries import file_number, id_from
from customers.households.log import add_log
from customers.households.models import Customer, Site, SiteFixture
from customers.households.sign_in import (
    AccessRefused,
    LinkUsedUp,
    consume_sign_in_link,
    give_access,
    look_at_link,
    make_sign_in_link,
    take_access,
)
from customers.people.actors import Actor
from sizing.engine.fixtures import KIND_BY_CODE

__all__ = [
    "AccessRefused",
    "HouseholdRefused",
    "LinkUsedUp",
    "add_log",
    "consume_sign_in_link",
    "create_household",
    "give_access",
    "look_at_link",
    "make_sign_in_link",
    "take_access",
    "update_household",
]

MOST_FIXTURES = 200


class HouseholdRefused(ValidationError):
    """A household was not saved; ``message_dict`` names each field, the value and what would do."""


@transaction.atomic
def create_household(
    *,
    actor: Actor,
    now: datetime,
    customer: Mapping[str, Any] | Customer,
    site: Mapping[str, Any],
    fixtures: Mapping[str, int],
    form_token: UUID | str | None = None,
) -> Site:
    """A new household file: its customer (columns by name, or one already known), place and fixtures.

    Values are canonical (m, kPa, L, degC). The same ``form_token`` twice gives the one file made first.
    Raises ``HouseholdRefused``; nothing is kept then.
    """
    made_id = id_from(actor.dealer, form_token) if form_token else None
    if made_id and (earlier := Site.objects.filter(public_id=made_id).first()):
        return earlier
    if isinstance(customer, Customer):
        owner = customer
    else:
        owner = _clean(Customer(dealer=actor.dealer, **customer))
        owner.save()
    number = file_number(actor.dealer, next_number(dealer=actor.dealer, kind="file"))
    made = _clean(Site(dealer=actor.dealer, customer=owner, file_number=number, **site))
    if made_id:
        made.public_id = made_id
    made.save()
    _set_fixtures(made, fixtures)
    add_log(site=made, who=actor.name, what=_("household file opened"), at=now)
    return made


@transaction.atomic
def update_household(
    *,
    actor: Actor,
    now: datetime,
    household: Site,
    customer: Mapping[str, Any],
    site: Mapping[str, Any],
    fixtures: Mapping[str, int],
) -> Site:
    """Change a household file; the log says which columns. Raises ``HouseholdRefused``; nothing is kept then."""
    changed: list[str] = []
    owner = household.customer
    for row, values in ((owner, customer), (household, site)):
        for name, value in values.items():
            if getattr(row, name) != value:
                changed.append(name.replace("_", " "))
                setattr(row, name, value)
        _clean(row)
    owner.save()
    household.save()
    if _set_fixtures(household, fixtures):
        changed.append(_("fixtures"))
    if changed:
        what = _("household file changed: %(fields)s") % {"fields": ", ".join(changed)}
        add_log(site=household, who=actor.name, what=what, at=now)
    return household


def _clean(row: Any) -> Any:
    """The row, after every check of its model and of the season's days."""
    errors: dict[str, Any] = {}
    try:
        row.full_clean()
    except ValidationError as refused:
        errors.update(refused.message_dict)
    if isinstance(row, Site):
        errors.update(_season_errors(row))
    if errors:
        raise HouseholdRefused(errors)
    return row


def _season_errors(site: Site) -> dict[str, str]:
    errors = {}
    for edge in ("opens", "closes"):
        month, day = getattr(site, f"{edge}_month"), getattr(site, f"{edge}_day")
        if month is None or day is None:
            continue
        try:
            date(2024, month, day)
        except ValueError:
            errors[f"{edge}_day"] = _(
                "day %(day)s of month %(month)s does not exist; accepted is a day of that month"
            ) % {"day": day, "month": month}
    return errors


def _set_fixtures(site: Site, counts: Mapping[str, int]) -> bool:
    """Make the household's fixtures these; says whether anything changed. Raises ``HouseholdRefused``."""
    wanted = {code: count for code, count in counts.items() if count}
    for code, count in wanted.items():
        if code not in KIND_BY_CODE:
            raise HouseholdRefused(
                {
                    code: _("%(code)s is no fixture; known are %(all)s")
                    % {"code": code, "all": ", ".join(KIND_BY_CODE)}
                }
            )
        if not isinstance(count, int) or not 0 < count <= MOST_FIXTURES:
            message = _("%(name)s: %(count)s typed, accepted is a whole number from 0 to %(most)s")
            name = KIND_BY_CODE[code].name
            raise HouseholdRefused({code: message % {"name": name, "count": count, "most": MOST_FIXTURES}})
    before = dict(site.fixtures.values_list("code", "count"))
    if before == wanted:
        return False
    site.fixtures.exclude(code__in=wanted).delete()
    for code, count in wanted.items():
        SiteFixture.objects.update_or_create(
            dealer_id=site.dealer_id, site=site, code=code, defaults={"count": count}
        )
    return True
