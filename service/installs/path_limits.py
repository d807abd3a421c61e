"""Limits a water path is read against: the household's limit set, and what a UV stage needs of its feed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from customers.households.models import Site
from service.installs.words import number_words
from sizing.drawing.values import Standing
from sizing.engine.design import PlacedStage, StageKind
from sizing.engine.errors import EngineError
from sizing.engine.limits import Limit, Verdict, judge, limit_set
from sizing.engine.stages.base import Duty, FeedLimit
from sizing.engine.stages.registry import stage_for
from sizing.engine.water import ANALYTES

NOMINAL_DUTY = Duty(
    flow_l_min=1.0,
    peak_l_min=1.0,
    daily_l=1.0,
    pump_l_min=1.0,
    months_open=tuple(range(1, 13)),
    temperature_c=10.0,
    feed_kpa=300.0,
    pump_kpa=400.0,
)  # limits on what light must pass through do not depend on the duty


@dataclass(frozen=True)
class PathLimit:
    """Every limit on one analyte, health first. ``into`` names the stage whose feed they are of."""

    code: str
    limits: tuple[Limit, ...]
    into: str = ""

    def words(self, system: str) -> str:
        """The tightest limits as printed: "at most 15", "6.5 to 8.5", "none", "at least 85 into UV"."""
        highs = [limit.value for limit in self.limits if limit.sense == "max"]
        lows = [limit.value for limit in self.limits if limit.sense == "min"]
        if highs and min(highs) == 0.0:
            return _("none")
        low = number_words(max(lows), self.code, system) if lows else ""
        high = number_words(min(highs), self.code, system) if highs else ""
        if low and high:
            words = _("%(low)s to %(high)s") % {"low": low, "high": high}
        elif low:
            words = _("at least %(low)s") % {"low": low}
        else:
            words = _("at most %(high)s") % {"high": high}
        return _("%(limit)s into %(stage)s") % {"limit": words, "stage": self.into} if self.into else words

    def standing(self, value: float | None, qualifier: str) -> Standing:
        """How a value stands against the worst-kept of the limits; a "<" above a limit cannot tell."""
        verdicts = [(limit, judge(str(qualifier), value, limit).verdict) for limit in self.limits]
        past = [limit for limit, verdict in verdicts if verdict is Verdict.NOT_MET]
        if any(limit.kind == "health" for limit in past):
            return Standing.HEALTH
        if past:
            return Standing.AESTHETIC
        unsure = any(verdict is Verdict.CANNOT_TELL for _limit, verdict in verdicts)
        return Standing.UNKNOWN if unsure else Standing.WITHIN


def feed_limits(planned: Iterable[PlacedStage]) -> Sequence[PathLimit]:
    """What the first UV stage needs of the water entering it.

    Empty for a unit whose kept ratings today's schema cannot read: the path shows drinking-water limits then.
    """
    uv = next((stage for stage in planned if stage.kind is StageKind.UV), None)
    if uv is None:
        return ()
    try:
        limits = stage_for(uv.product).feed_limits(NOMINAL_DUTY)
    except EngineError:
        return ()
    return tuple(
        PathLimit(limit.analyte, (_as_limit(limit),), into="UV") for limit in limits if limit.analyte in ANALYTES
    )


def _as_limit(limit: FeedLimit) -> Limit:
    analyte = ANALYTES[limit.analyte]
    return Limit(
        key=f"uv_feed_{limit.analyte}",
        analyte=limit.analyte,
        authority="",
        kind="operational",
        name=limit.reason,
        value=limit.value,
        unit=analyte.unit,
        sense=limit.sense,
        printed=f"{limit.value:g} {analyte.unit}".strip(),
        date="",
        status="",
        source=limit.source,
        note="",
        standing="in force",
    )


def limits_for(site: Site) -> Sequence[PathLimit]:
    """The drinking-water limits of the household's jurisdiction, one entry an analyte."""
    found: dict[str, list[Limit]] = {}
    for limit in limit_set(site.dealer.jurisdiction):
        found.setdefault(limit.analyte, []).append(limit)
    return tuple(PathLimit(code, tuple(limits)) for code, limits in found.items())
