"""Writes about laboratories."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from customers.dealers.models import Dealer
from customers.dealers.queries import id_from
from customers.laboratories.models import WEEKDAYS, Laboratory, LaboratoryBottle
from sizing.engine.sampling import OwnBottle, bottle_kinds


class LaboratoryRefused(ValueError):
    """A laboratory was not kept; ``errors`` names each field and what would do."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        self.errors = dict(errors)
        super().__init__(" ".join(self.errors.values()))


@transaction.atomic
def keep_laboratory(
    *,
    dealer: Dealer,
    values: Mapping[str, Any],
    bottles: Mapping[str, OwnBottle] | None = None,
    laboratory: Laboratory | None = None,
    form_token: UUID | str | None = None,
) -> Laboratory:
    """A new laboratory, or an old one changed: columns by name, and the bottles it asks for in place of the usual
    (those not named go back to the usual). The same ``form_token`` twice gives the one made first.

    Raises ``LaboratoryRefused``; nothing is kept then.
    """
    made_id = id_from(dealer, form_token) if form_token else uuid4()
    if laboratory is None:
        if form_token and (earlier := Laboratory.objects.filter(public_id=made_id).first()):
            return earlier
        laboratory = Laboratory(dealer=dealer, public_id=made_id)
    for name, value in values.items():
        setattr(laboratory, name, value)
    errors = _errors(laboratory)
    own = _own(laboratory, bottles or {}, errors)
    if errors:
        raise LaboratoryRefused(errors)
    laboratory.save()
    if bottles is not None:
        laboratory.bottles.all().delete()
        LaboratoryBottle.objects.bulk_create(own)
    return laboratory


def _errors(laboratory: Laboratory) -> dict[str, str]:
    errors: dict[str, str] = {}
    try:
        laboratory.full_clean(exclude=["dealer", "public_id"], validate_constraints=False)
    except ValidationError as refused:
        errors = {name: " ".join(told) for name, told in refused.message_dict.items()}
    days = laboratory.receives_on
    if not days or len(set(days)) != len(days) or set(days) - set(WEEKDAYS):
        errors["receives_on"] = _("no day chosen; accepted is at least one day of the week")
    if "receives_until" not in errors and laboratory.receives_from >= laboratory.receives_until:
        told = {"until": f"{laboratory.receives_until:%H:%M}", "first": f"{laboratory.receives_from:%H:%M}"}
        errors["receives_until"] = _("%(until)s given; accepted is an hour after %(first)s") % told
    if "result_days" not in errors and not 1 <= laboratory.result_days <= 120:
        errors["result_days"] = _("%(n)s given; accepted is 1 to 120 days") % {"n": laboratory.result_days}
    twin = Laboratory.objects.filter(name=laboratory.name).exclude(pk=laboratory.pk)
    if "name" not in errors and twin.exists():
        errors["name"] = _("“%(name)s” stands in the list already; accepted is a name of its own") % {
            "name": laboratory.name
        }
    return errors


def _own(
    laboratory: Laboratory, bottles: Mapping[str, OwnBottle], errors: dict[str, str]
) -> Sequence[LaboratoryBottle]:
    """Rows for what differs from the usual; errors under ``bottle-<code>``."""
    known = {kind.code: kind for kind in bottle_kinds()}
    rows = []
    for code, own in bottles.items():
        if code not in known:
            errors[f"bottle-{code}"] = _("%(code)s is no kind of bottle") % {"code": code}
            continue
        if own == OwnBottle():
            continue
        row = LaboratoryBottle(
            dealer_id=laboratory.dealer_id,
            laboratory=laboratory,
            code=code,
            container=own.container,
            volume_ml=own.volume_ml,
            preservation=own.preservation,
            hold_h=own.hold_h,
        )
        if own.hold_h is not None and not 0 < own.hold_h <= 8760:
            told = {"name": known[code].name, "h": f"{own.hold_h:g}"}
            errors[f"bottle-{code}"] = _("%(name)s: %(h)s h given; accepted is more than 0 and at most 8760 h") % told
        elif own.volume_ml is not None and not 1 <= own.volume_ml <= 20000:
            told = {"name": known[code].name, "ml": str(own.volume_ml)}
            errors[f"bottle-{code}"] = _("%(name)s: %(ml)s mL given; accepted is 1 to 20000 mL") % told
        rows.append(row)
    return rows


@transaction.atomic
def remember_layout(*, laboratory: Laboratory, layout: Mapping[str, Any]) -> None:
    """Keep how a file of the laboratory was read, to propose it the next time."""
    laboratory.layout = dict(layout)
    laboratory.save(update_fields=["layout"])
