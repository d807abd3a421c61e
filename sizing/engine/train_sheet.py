"""The worksheet of a line: peak demand by both methods, supply, each stage, pressure, cost."""

from __future__ import annotations

from sizing.engine.cost import annuity
from sizing.engine.design import CostBars
from sizing.engine.log_credits import GERM_WORDS, ORGANISMS
from sizing.engine.train_hot import hot_steps
from sizing.engine.train_lanes import outside_steps, treated
from sizing.engine.train_path import Line, Path
from sizing.engine.train_spot import name_of, unit_of
from sizing.engine.train_step import Feed
from sizing.engine.worksheet import Step, Worksheet


def worksheet(line: Line, path: Path, pressure: tuple[Step, ...], cost: CostBars) -> Worksheet:
    """All sections in reading order.

    Units: stated on each line.
    Range: any path of the line.
    Raises: nothing.
    Source: stated on each line.

    >>> worksheet.__name__
    'worksheet'
    """
    brief = line.brief
    sheet = Worksheet().with_section("Peak demand", brief.demand.steps)
    sheet = sheet.with_section(
        "Peak demand by fixture units",
        brief.units.steps,
        "Shown beside the peak above; the design stands on that one.",
    )
    sheet = sheet.with_section("Water used in a day", brief.daily.steps)
    outside = outside_steps(brief.request, brief.whole, brief.flow_l_min)
    if outside:
        sheet = sheet.with_section(
            "Outside taps, not treated", outside, "Peak and volume above are those of the water that is treated."
        )
    sheet = sheet.with_section("Supply", _supply(line))
    hot = hot_steps(brief.request, treated(brief.request), brief.hot)
    if hot:
        sheet = sheet.with_section("Hot line, softened by itself", hot, "What a softener on it is sized on.")
    for number, feed in enumerate(path.feeds, start=1):
        sheet = sheet.with_section(f"{number}. {feed.option.name}", (*_fed(feed), *feed.sizing.steps))
    if line.germs:
        sheet = sheet.with_section(
            "Log credits against germs", _germs(line, path), "Credits of different processes add up."
        )
    sheet = sheet.with_section("Pressure at peak flow", pressure)
    return sheet.with_section("Whole-life cost", _cost(line, cost))


def _supply(line: Line) -> tuple[Step, ...]:
    brief, supply = line.brief, line.brief.request.supply
    sd = supply.pump_flow_l_min.sd
    return (
        Step("q_p", "Flow the pump delivers", brief.flow_l_min, "L/min", f"standard uncertainty {sd:.3g} L/min",
             "flow test", "measured", "flow"),
        Step("q", "Peak flow that can pass", brief.peak_l_min, "L/min",
             f"the smaller of {brief.demand.flow_l_min:.1f} and {brief.flow_l_min:.1f}", "", "computed", "flow"),
        Step("p_1", "Cut-in pressure", supply.cut_in_kpa, "kPa", "", "pressure switch", "measured", "pressure"),
    )  # fmt: skip


def _germs(line: Line, path: Path) -> tuple[Step, ...]:
    """What each stage earns, and what is wanted, by organism."""
    steps = []
    for place, organism in enumerate(ORGANISMS):
        wanted = line.brief.logs[place]
        if wanted > 0:
            earned = [(feed.option.name, feed.logs[place]) for feed in path.feeds if feed.logs[place] > 0]
            terms = " + ".join(f"{logs:.2g} ({name})" for name, logs in earned) or "nothing earns any"
            formula = f"{terms}; {wanted:g} wanted, of two filters in a row one counts"
            germs = GERM_WORDS[organism]
            source = line.brief.logs_citation
            steps.append(
                Step("log", f"Credit against {germs}", path.logs[place], "log10", formula, source, "published")
            )
    return tuple(steps)


def _fed(feed: Feed) -> list[Step]:
    steps = []
    for limit in feed.limits:
        value = feed.feed_value(limit)
        word = "at most" if limit.sense == "max" else "at least"
        name, unit = name_of(limit.analyte), unit_of(limit.analyte).strip()
        shown = "not measured" if value is None else float(value)
        steps.append(
            Step(
                limit.analyte, f"{name[0].upper()}{name[1:]} entering", shown, unit,
                f"{word} {limit.value:.3g}: {limit.reason}", limit.source, "computed",
                limit.analyte if limit.analyte in ("hardness", "flow", "temperature") else "",
            )
        )  # fmt: skip
    return steps


def _cost(line: Line, cost: CostBars) -> tuple[Step, ...]:
    terms = line.brief.request.cost
    factor = annuity(terms.discount_rate, terms.years)
    rows = (("Bought and fitted", cost.bought), ("Salt", cost.salt), ("Parts", cost.parts),
            ("Power and water", cost.power), ("Visits", cost.visits), ("Whole life", cost.total))  # fmt: skip
    formula = f"(1 - (1 + {terms.discount_rate:g})^-{terms.years}) / {terms.discount_rate:g}"
    if not terms.discount_rate:
        formula = f"{terms.years} years at no interest"
    span = f"present value over {terms.years} years"
    return (
        Step("a", "Annuity factor", factor, "", formula, "closed form"),
        *(Step("C", label, str(amount), "", span, "catalogue and rates") for label, amount in rows),
    )
