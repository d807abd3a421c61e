"""What the design bench shows: alternatives side by side on common scales."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib.humanize.templatetags.humanize import intcomma
from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.models import Place
from customers.water_tests.queries import current_results, said_in_words
from service.installs.water_path import path_of_train
from sizing.drawing.chart_values import CostBar, MarginLine
from sizing.drawing.values import WaterPath
from sizing.engine.design import DesignRequest, Margin, Train
from sizing.engine.display import show, to_display
from sizing.engine.findings import Finding
from sizing.engine.water import ANALYTES
from sizing.proposals.forms import SHOWN_AS, analyte_unit, shown_goal
from sizing.proposals.models import Proposal, ProposedTrain
from sizing.proposals.queries import request_value, train_value

SYMBOLS = {"USD": "$", "CAD": "$", "EUR": "€", "GBP": "£"}
MOST_MARGINS = 8
#: The sorts of margin people ask about, by the start of their code, and how many of each are drawn.
FIRST = ("feed_", "goal_", "backwash", "uv_dose", "barrier", "worst", "pressure", "softener", "airox")
MOST_OF_A_SORT = (2, 2, 1, 1, 0, 1, 1, 1, 1, 2)


@dataclass(frozen=True)
class Alternative:
    """One column of the bench."""

    row: ProposedTrain
    train: Train
    path: WaterPath
    margins: tuple[MarginLine, ...]
    findings: tuple[Finding, ...]
    doubt: str = ""


@dataclass(frozen=True)
class Bench:
    """Everything the page draws."""

    proposal: Proposal
    request: DesignRequest
    alternatives: tuple[Alternative, ...]
    shared: tuple[Finding, ...]
    bars: tuple[CostBar, ...]
    raw: tuple[tuple[str, str], ...]
    place: tuple[tuple[str, str], ...]
    symbol: str


def bench_of(proposal: Proposal, today: date) -> Bench:
    """The page's values for one design."""
    request = request_value(proposal)
    system = proposal.unit_system
    rows = list(proposal.trains.all())
    trains = [train_value(row) for row in rows]
    scales, chosen = _scales(trains), telling(trains)
    shared = shared_findings(trains)
    symbol = SYMBOLS.get(proposal.site.dealer.currency, "")
    alternatives = tuple(
        Alternative(
            row=row,
            train=train,
            path=path_of_train(proposal.site, train, today),
            doubt=doubt_of(row.confidence),
            margins=margin_lines(train.margins, chosen, scales, system),
            findings=by_weight(finding for finding in train.findings if finding not in shared),
        )
        for row, train in zip(rows, trains, strict=True)
    )
    return Bench(
        proposal=proposal,
        request=request,
        alternatives=alternatives,
        shared=shared,
        bars=tuple(_bar(row, train, symbol) for row, train in zip(rows, trains, strict=True)),
        raw=raw_lines(request, proposal.site, system),
        place=place_lines(proposal.site, system),
        symbol=symbol,
    )


def doubt_of(confidence: dict[str, Any]) -> str:
    """What breaks a limit most often in the plausible peaks that miss, and which uncertain input decides."""
    limits, drivers = confidence.get("limits", []), confidence.get("drivers", [])
    if not limits:
        return _("No plausible peak of those drawn breaks a limit.")
    words = _("Misses: %(limit)s.") % {"limit": limits[0]["label"]}
    if drivers:
        words += " " + _("%(input)s decides most.") % {"input": drivers[0]["label"]}
    return words


def by_weight(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings, health first."""
    return tuple(sorted(findings, key=lambda finding: finding.severity.rank))


def shared_findings(trains: Sequence[Train]) -> tuple[Finding, ...]:
    """Findings that hold for every alternative, said once."""
    if len(trains) < 2:
        return ()
    return by_weight(f for f in trains[0].findings if all(f in train.findings for train in trains[1:]))


def raw_lines(request: DesignRequest, site: Site, system: str) -> tuple[tuple[str, str], ...]:
    """Raw water as it was asked with: name, value with unit; a non-detect as the paper has it."""
    said = {code: result for code, result in current_results(site, Place.RAW).items() if result.qualifier != "equal"}
    found = []
    for code, analyte in ANALYTES.items():
        value = request.water.get(code)
        if value is None or code == "temperature":
            continue
        if code in said:
            text = said_in_words(said[code])
        else:
            text = f"{shown_goal(code, float(value), system):g}\u00a0{analyte_unit(code, system)}".strip()
        found.append((analyte.name, text))
    return tuple(found)


def place_lines(site: Site, system: str) -> tuple[tuple[str, str], ...]:
    """What the place allows, in words."""
    sizes = [show(v, "length", system) for v in (site.wall_m, site.depth_m, site.height_m) if v]
    return (
        (_("Wall, depth, height"), " × ".join(sizes) or _("not measured")),
        (_("Drain"), (site.drain_note or _("yes")) if site.drain else _("none")),
        (_("Winter"), _("heated") if site.winter_heated else _("not heated")),
        (_("Power"), str(site.get_power_display())),
    )


def telling(trains: Sequence[Train], most: int = MOST_MARGINS) -> list[str]:
    """Codes of the margins worth drawing, the same for every alternative: of each sort the tightest first."""
    room: dict[str, float] = {}
    for train in trains:
        for margin in train.margins:
            share = abs(margin.limit - margin.value) / (abs(margin.limit) or 1.0)
            room[margin.code] = min(share, room.get(margin.code, share))

    def sort(code: str) -> int:
        return next((i for i, start in enumerate(FIRST) if code.startswith(start)), len(FIRST))

    chosen: list[str] = []
    for place, allowed in enumerate(MOST_OF_A_SORT):
        of_sort = sorted((code for code in room if sort(code) == place), key=lambda code: room[code])
        chosen += of_sort[:allowed]
    return chosen[:most]


def _scales(trains: Sequence[Train]) -> dict[str, tuple[float, float]]:
    """One scale for each margin over all alternatives, in canonical units."""
    scales: dict[str, tuple[float, float]] = {}
    for train in trains:
        for margin in train.margins:
            low, high = scales.get(margin.code, (0.0, 0.0))
            scales[margin.code] = (min(low, 0.0), max(high, margin.value, margin.limit * 1.15))
    return scales


def margin_lines(
    margins: Sequence[Margin], chosen: Sequence[str], scales: dict[str, tuple[float, float]], system: str
) -> tuple[MarginLine, ...]:
    """The chosen margins of one alternative in the reader's units."""
    held = {margin.code: margin for margin in margins}
    return tuple(_line(held[code], scales[code], system) for code in chosen if code in held)


def _line(margin: Margin, scale: tuple[float, float], system: str) -> MarginLine:
    def number(value: float) -> float:
        return float(to_display(value, margin.quantity, system)[0]) if margin.quantity else value

    unit = to_display(0.0, margin.quantity, system)[1] if margin.quantity else margin.unit.replace("cm2", "cm²")
    word = _("of") if margin.sense == "max" else _("over")
    value, limit = number(margin.value), number(margin.limit)
    return MarginLine(
        label=margin.label,
        value=value,
        limit=limit,
        sense=margin.sense,
        said=f"{_figure(value)} {word} {_figure(limit)} {unit}".strip(),
        margin=_figure(abs(limit - value)),
        low=number(scale[0]),
        high=number(scale[1]),
    )


def _figure(value: float) -> str:
    if abs(value) >= 100:
        return f"{value:.0f}"
    return f"{value:.3g}" if abs(value) >= 0.001 else "0"


def _bar(row: ProposedTrain, train: Train, symbol: str) -> CostBar:
    cost = train.cost
    parts = (cost.bought, cost.salt, cost.parts, cost.power, cost.visits)
    numbers = tuple(float(part) for part in parts)
    texts = tuple(intcomma(int(part)) for part in parts)
    total = f"{symbol}{intcomma(int(cost.total))}"
    return CostBar(row.letter, numbers, texts, total)  # type: ignore[arg-type]


def goal_fields(form: Any) -> dict[str, list[Any]]:
    """The form's fields by block of the left column."""
    groups: dict[str, list[Any]] = {"entry": [], "tap": [], "own": []}
    for field in form.visible_fields():
        start = field.name.partition("_")[0]
        groups[start if start in ("entry", "tap") else "own"].append(field)
    return groups


__all__ = ["SHOWN_AS", "Alternative", "Bench", "bench_of", "goal_fields", "margin_lines", "place_lines", "raw_lines"]
