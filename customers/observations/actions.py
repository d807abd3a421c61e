"""Noting and clearing what people say about their water."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from customers.dealers.queries import id_from
from customers.households.actions import add_log
from customers.households.models import Site
from customers.observations.models import Observation, WhereSeen
from customers.observations.queries import SYMPTOMS, words_of


class ObservationRefused(ValueError):
    """An observation was not noted: ``field``, ``value`` and what would do."""

    def __init__(self, field: str, value: object, accepted: str) -> None:
        self.field, self.value, self.accepted = field, value, accepted
        super().__init__(
            _("%(field)s is %(value)s, accepted is %(accepted)s")
            % {"field": field, "value": value or _("empty"), "accepted": accepted}
        )


@dataclass(frozen=True)
class Said:
    """One thing said: a code of ``SYMPTOMS``, at which taps, in whose words, since when."""

    code: str
    where: str = WhereSeen.UNKNOWN.value
    words: str = ""
    since: str = ""


@transaction.atomic
def note_observations(
    *, site: Site, actor_name: str, now: datetime, said: Iterable[Said], form_token: UUID | str | None = None
) -> list[Observation]:
    """Note several things at once, all or none; one ``form_token`` twice notes them once.

    Raises ``ObservationRefused``, also for nothing at all.
    """
    made_id = id_from(site.dealer, form_token) if form_token else None
    if made_id and (earlier := Observation.objects.filter(public_id=made_id, site=site).first()):
        return list(Observation.objects.filter(site=site, noted_at=earlier.noted_at))
    rows = []
    for one in said:
        if one.code not in SYMPTOMS:
            raise ObservationRefused("symptom", one.code, _("one of the list"))
        if one.where not in WhereSeen.values:
            raise ObservationRefused("where", one.where, ", ".join(WhereSeen.values))
        rows.append(
            Observation(
                dealer_id=site.dealer_id,
                site=site,
                code=one.code,
                where=one.where,
                words=one.words.strip()[:400],
                since=one.since.strip()[:80],
                noted_at=now,
                noted_by=actor_name,
            )
        )
    if not rows:
        raise ObservationRefused("symptom", "", _("at least one of the list"))
    if made_id:
        rows[0].public_id = made_id
    Observation.objects.bulk_create(rows)
    told = "; ".join(words_of(row.code) for row in rows)
    add_log(site=site, who=actor_name, what=_("noted: %(told)s") % {"told": told}, at=now)
    return rows


def note_observation(
    *, site: Site, actor_name: str, now: datetime, code: str, where: str = "", words: str = "", since: str = ""
) -> Observation:
    """Note one thing said or seen. Raises ``ObservationRefused``."""
    said = Said(code, where or WhereSeen.UNKNOWN.value, words, since)
    return note_observations(site=site, actor_name=actor_name, now=now, said=[said])[0]


@transaction.atomic
def clear_observation(*, observation: Observation, actor_name: str, now: datetime) -> Observation:
    """Say that it is gone. Clearing twice keeps the first time."""
    if observation.cleared_at is None:
        observation.cleared_at = now
        observation.save(update_fields=["cleared_at"])
        what = _("gone: %(told)s") % {"told": words_of(observation.code)}
        add_log(site=observation.site, who=actor_name, what=what, at=now)
    return observation
