"""The limits a design is asked to keep when nobody set others: the jurisdiction's, and what practice asks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from customers.households.models import Site
from sizing.engine.design import DesignRequest
from sizing.engine.figures import figure
from sizing.engine.limits import Limit, limit_set
from sizing.engine.water import ANALYTES, Water
from sizing.proposals.adapters import Wishes

PRACTICE = "goal-practice"
#: Health limits kept at the drinking tap (one polishing unit) rather than for the whole house: common practice.
AT_TAP = ("nitrate", "nitrite", "fluoride", "arsenic", "lead", "uranium", "selenium", "antimony", "radium", "pfas")
#: What no stage of a train is chosen for.
LEFT_OUT = ("ph", "temperature", "total_coliform", "e_coli", "conductivity", "radon", "iron_bacteria")


def strictest(limits: Iterable[Limit]) -> dict[str, Limit]:
    """The lowest upper limit of each analyte."""
    found: dict[str, Limit] = {}
    for limit in limits:
        if limit.sense != "max" or limit.analyte in LEFT_OUT or limit.value <= 0:
            continue
        if limit.analyte not in found or limit.value < found[limit.analyte].value:
            found[limit.analyte] = limit
    return found


def default_wishes(water: Water, *, jurisdiction: str) -> Wishes:
    """Goals for the analytes that were measured: the strictest limit in force, and practice for the rest.

    Hardness gets a goal only where the water is hard, since soft water needs none. Microbial goals are not
    here: the engine raises the barrier itself from the source and the coliform results.
    """
    at_entry: dict[str, float] = {}
    at_tap: dict[str, float] = {}
    for analyte, limit in strictest(limit_set(jurisdiction)).items():
        if analyte in water and analyte in ANALYTES:
            (at_tap if analyte in AT_TAP else at_entry)[analyte] = limit.value
    practice = figure(PRACTICE, "entry_goals").value
    for analyte, value in practice.items():
        if analyte in water:
            at_entry[analyte] = min(float(value), at_entry.get(analyte, float(value)))
    hard = figure(PRACTICE, "hardness_goal").value
    hardness = water.get("hardness")
    if hardness is not None and hardness > hard["where_above"]:
        at_entry["hardness"] = float(hard["goal"])
    return Wishes(at_entry=at_entry, at_tap=at_tap)


def usual_wishes(site: Site, water: Water) -> Wishes:
    """What a household's design is asked when nobody set anything: limits in force, its own pressure and years."""
    wishes = default_wishes(water, jurisdiction=site.dealer.jurisdiction)
    return replace(
        wishes,
        min_fixture_kpa=site.worst_fixture_min_kpa,
        years=site.dealer.cost_years,
        outside_untreated=site.untreated_tap,
    )


def wishes_again(asked: DesignRequest, water: Water, *, jurisdiction: str) -> Wishes:
    """What a design was asked, for the water as it is now.

    A goal that was left out stays out; what has been measured only since gets its usual goal.
    """
    usual = default_wishes(water, jurisdiction=jurisdiction)

    def merged(usually: Mapping[str, float], wanted: Mapping[str, float]) -> dict[str, float]:
        new = {code: value for code, value in usually.items() if code not in asked.water}
        return {**new, **wanted}

    goals = asked.goals
    return Wishes(
        at_entry=merged(usual.at_entry, goals.at_entry),
        at_tap=merged(usual.at_tap, goals.at_tap),
        ph_low=goals.ph_low,
        ph_high=goals.ph_high,
        uv_dose=goals.uv_dose,
        min_fixture_kpa=asked.supply.worst_fixture_min_kpa,
        years=asked.cost.years,
        outside_untreated=asked.site.outside_untreated,
        outside_litres_day=asked.occupancy.outside_litres_day,
        soften=goals.soften,
        dry_tank=goals.dry_tank,
    )
