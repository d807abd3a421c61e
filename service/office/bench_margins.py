"""Margins of alternatives on common scales, and the pressure along each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from django.utils.translation import gettext as _

from service.office.bench_words import figure, short_label
from sizing.drawing.chart_values import ChartLimit, MarginLine, PressureProfile, PressureStep
from sizing.drawing.metrics import text_width
from sizing.drawing.values import point_letter
from sizing.engine.design import Margin, Train
from sizing.engine.display import to_display, unit_of

MOST_MARGINS = 6
WIDTH = 252.0
#: The sorts of margin people ask about, by the start of their code, and how many of each are drawn at most.
FIRST = ("worst", "backwash", "uv_dose", "feed_", "goal_", "softener_days", "airox_days", "nitrate", "organics_days")
MOST_OF_A_SORT = (1, 1, 1, 2, 2, 1, 1, 1, 1, 1)
LEFT_OUT = ("barrier",)  # the same number as the dose of the UV itself


def telling(trains: Sequence[Train], most: int = MOST_MARGINS) -> list[str]:
    """Codes of the margins worth drawing, the same for every alternative.

    Of each sort those that most alternatives have, then the tightest; what a line breaks comes before all others.
    """
    room: dict[str, float] = {}
    has: dict[str, int] = {}
    broken: set[str] = set()
    for train in trains:
        for margin in train.margins:
            share = abs(margin.limit - margin.value) / (abs(margin.limit) or 1.0)
            room[margin.code] = min(share, room.get(margin.code, share))
            has[margin.code] = has.get(margin.code, 0) + 1
            if not margin.held:
                broken.add(margin.code)

    def sort(code: str) -> int:
        return next((i for i, start in enumerate(FIRST) if code.startswith(start)), len(FIRST))

    chosen: list[str] = []
    for place, allowed in enumerate(MOST_OF_A_SORT):
        of_sort = [code for code in room if sort(code) == place and code not in LEFT_OUT]
        of_sort.sort(key=lambda code: (code not in broken, -has[code], room[code]))
        chosen += of_sort[:allowed]
    return sorted(chosen[:most], key=lambda code: -has[code])


def scales(trains: Sequence[Train]) -> dict[str, tuple[float, float]]:
    """One scale for each margin over all alternatives, in canonical units."""
    found: dict[str, tuple[float, float]] = {}
    for train in trains:
        for margin in train.margins:
            low, high = found.get(margin.code, (0.0, 0.0))
            found[margin.code] = (min(low, 0.0), max(high, margin.value, margin.limit * 1.15))
    return found


def margin_rows(trains: Sequence[Train], system: str, worst: str) -> list[tuple[MarginLine, ...]]:
    """The telling margins of each alternative, row beside row: the same scale, and the same height."""
    chosen, scale = telling(trains), scales(trains)
    rows = [margin_lines(train.margins, chosen, scale, system, worst) for train in trains]
    apart = {line.label for row in rows for line in row if not _fits(line)}
    return [tuple(replace(line, apart=line.label in apart) for line in row) for row in rows]


def _fits(line: MarginLine) -> bool:
    return text_width(line.label, 12.5) + text_width(line.said, 14, "semibold-italic") + 8 <= WIDTH


def margin_lines(
    margins: Iterable[Margin], chosen: Sequence[str], scale: dict[str, tuple[float, float]], system: str, worst: str
) -> tuple[MarginLine, ...]:
    """The chosen margins of one alternative in the reader's units."""
    held = {margin.code: margin for margin in margins}
    return tuple(_line(held[code], scale[code], system, worst) for code in chosen if code in held)


def _line(margin: Margin, scale: tuple[float, float], system: str, worst: str) -> MarginLine:
    def number(value: float) -> float:
        return float(to_display(value, margin.quantity, system)[0]) if margin.quantity else value

    unit = to_display(0.0, margin.quantity, system)[1] if margin.quantity else margin.unit.replace("cm2", "cm²")
    word = _("of") if margin.sense == "max" else _("over")
    if not margin.held:
        word = _("past") if margin.sense == "max" else _("under")
    value, limit = number(margin.value), number(margin.limit)
    said = f"{figure(value)} {word} {figure(limit)} {unit.split(' as ')[0]}".strip()
    return MarginLine(
        label=short_label(margin, worst),
        value=value,
        limit=limit,
        sense=margin.sense,
        said=said,
        margin=f"{abs(limit - value):.2g}" if abs(limit - value) < 100 else f"{abs(limit - value):.0f}",
        low=number(scale[0]),
        high=number(scale[1]),
    )


def profile_of(train: Train, system: str, worst: str) -> PressureProfile | None:
    """Pressure at peak flow from behind the tank to the worst fixture; ``None`` where it was not reckoned."""
    held = next((margin for margin in train.margins if margin.code == "worst_fixture"), None)
    if held is None or not train.pressures_kpa:
        return None
    along = [(point_letter(number), kpa) for number, kpa in enumerate(train.pressures_kpa)]
    steps = [_step(name, kpa, system) for name, kpa in (*along, (worst.split()[-1], held.value))]
    least = to_display(held.limit, "pressure", system)[0]
    unit = unit_of("pressure", system)
    limit = ChartLimit(least, _("at least %(least)s") % {"least": f"{figure(least)} {unit}"}, "min")
    title = _("Pressure at peak, pump at cut-in, filters dirty")
    return PressureProfile(title, unit, tuple(steps), limit)


def _step(name: str, kpa: float, system: str) -> PressureStep:
    shown = float(to_display(kpa, "pressure", system)[0])
    return PressureStep(name, shown, f"{shown:.0f}")


def highest(profiles: Iterable[PressureProfile | None]) -> float:
    """The top of one scale for all profiles."""
    return max((step.value for profile in profiles if profile for step in profile.steps), default=0.0) or 1.0
