"""Plausible households by the thousand: sources, waters, pumps, houses and sites drawn with a seed. Invented."""

from dataclasses import replace
from random import Random

from sizing.engine.design import (
    CostTerms,
    DesignRequest,
    Fixture,
    Goals,
    Measured,
    Occupancy,
    SiteLimits,
    SourceType,
    SupplySide,
)
from sizing.engine.water import Water

S = SourceType
SOURCES = (S.DRILLED_WELL,) * 6 + (S.DUG_WELL,) * 2 + (S.LAKE,) * 2 + (S.RIVER, S.SPRING, S.SPRING, S.CISTERN)
SUMMER, YEAR = (5, 6, 7, 8, 9), tuple(range(1, 13))
WELLS = (S.DRILLED_WELL, S.DUG_WELL)
PIPES = (("copper", "3/4"), ("copper", "1"), ("pex", "3/4"), ("pex", "1"), ("copper", "1-1/4"), ("pvc", "1-1/4"))
ENTRY_GOALS = {
    "iron": (0.3, 0.3, 0.1), "manganese": (0.05, 0.12), "hardness": (60.0, 120.0, 200.0), "turbidity": (1.0, 0.5),
    "colour": (15.0,), "sulphide": (0.05,), "tannin": (0.5,), "free_chlorine": (0.5,),
}  # fmt: skip
TAP_GOALS = {"nitrate": 10.0, "arsenic": 0.010, "lead": 0.005, "fluoride": 1.5, "uranium": 0.02, "sodium": 200.0}


def _often(draw: Random, share: float) -> bool:
    return draw.random() < share


def _log(draw: Random, low: float, high: float) -> float:
    return float(f"{low * (high / low) ** draw.random():.3g}")


def _water(draw: Random, source: SourceType) -> dict[str, float]:
    ground = source in (S.DRILLED_WELL, S.DUG_WELL, S.SPRING)
    hard = _log(draw, 15, 500) if ground else _log(draw, 5, 120)
    iron = _log(draw, 0.1, 6.0) if ground and _often(draw, 0.45) else _log(draw, 0.01, 0.3)
    cloudy = _log(draw, 0.1, 3.0) if ground else _log(draw, 0.3, 12.0)
    brown = _log(draw, 0.02, 0.6) if ground else _log(draw, 0.05, 2.5)
    found = {
        "ph": round(draw.uniform(5.8, 8.4) if _often(draw, 0.4) else draw.uniform(6.8, 8.2), 1),
        "alkalinity": round(hard * draw.uniform(0.5, 1.3), 0) + 5.0,
        "hardness": hard,
        "temperature": round(draw.uniform(3.0, 12.0) if ground else draw.uniform(1.0, 20.0), 1),
        "turbidity": cloudy,
        "suspended_solids": float(f"{cloudy * draw.uniform(0.8, 3.0):.3g}"),
        "uvt": round(max(min(98.0 - 14.0 * brown - 0.8 * cloudy - draw.uniform(0.0, 6.0), 98.0), 25.0), 1),
        "tannin": brown if not ground or _often(draw, 0.3) else 0.0,
        "colour": round(20.0 * brown, 1),
        "iron": iron,
        "iron_dissolved": float(f"{iron * draw.uniform(0.05, 1.0):.3g}"),
        "manganese": _log(draw, 0.002, 0.3) if ground and _often(draw, 0.5) else _log(draw, 0.001, 0.04),
        "sulphide": _log(draw, 0.02, 2.0) if source in WELLS and _often(draw, 0.2) else 0.0,
        "dissolved_oxygen": round(draw.uniform(0.1, 3.0) if source is S.DRILLED_WELL else draw.uniform(4.0, 11.0), 1),
        "free_chlorine": 0.0,
        "sulphate": _log(draw, 2.0, 250.0),
        "chloride": _log(draw, 2.0, 150.0),
        "sodium": _log(draw, 2.0, 120.0),
        "nitrate": _log(draw, 0.1, 28.0) if source in WELLS else _log(draw, 0.05, 3.0),
        "tds": round(hard * 1.3 + draw.uniform(30.0, 500.0)),
        "total_coliform": float(draw.choice((0, 0, 0, 1, 4, 30))) if ground else float(draw.choice((0, 5, 60, 400))),
        "e_coli": 0.0,
    }
    if found["total_coliform"] and _often(draw, 0.3):
        found["e_coli"] = float(max(int(found["total_coliform"] / 10), 1))
    for code, (low, high) in (("arsenic", (0.001, 0.013)), ("lead", (0.001, 0.02)), ("fluoride", (0.1, 4.0)),
                              ("uranium", (0.001, 0.08))):  # fmt: skip
        if _often(draw, 0.12):
            found[code] = _log(draw, low, high)
    if _often(draw, 0.25):
        found["calcium"] = round(0.3 * hard, 1)
        found["magnesium"] = round((hard - 2.497 * found["calcium"]) / 4.118, 2)
    for code in ("suspended_solids", "iron_dissolved", "dissolved_oxygen", "colour", "sulphide", "tannin", "sulphate",
                 "manganese", "tds", "temperature", "uvt", "alkalinity", "total_coliform"):  # fmt: skip
        if _often(draw, 0.04):
            found.pop(code)
    return found


def _fixtures(draw: Random) -> tuple[Fixture, ...]:
    baths = draw.choice((1, 1, 1, 2, 2, 3, 4))
    kinds = [("shower" if _often(draw, 0.5) else "bath_shower", baths), ("lavatory", baths), ("toilet", baths),
             ("kitchen_faucet", 1)]  # fmt: skip
    kinds += [("clothes_washer", 1)] * _often(draw, 0.7) + [("dishwasher", 1)] * _often(draw, 0.4)
    return tuple(Fixture(code, count) for code, count in kinds)


def _outside(lanes: Random) -> tuple[Fixture, ...]:
    """Now and then a tap or two out of doors."""
    taps = lanes.choice((0, 0, 1, 2))
    return (Fixture("outdoor_tap", taps),) if taps else ()


def _supply(draw: Random, source: SourceType) -> SupplySide:
    cut_in = draw.choice((138.0, 207.0, 276.0, 276.0, 276.0, 345.0, 345.0, 345.0))
    material, nominal = draw.choice(PIPES)
    well = source in WELLS and _often(draw, 0.5)
    return SupplySide(
        Measured(round(draw.uniform(18.0, 85.0), 1), 1.0), cut_in, cut_in + 138.0, draw.choice((80.0, 170.0, 320.0)),
        nominal, material, draw.choice((5.0, 10.0, 15.0, 30.0)), draw.choice((0.0, 1.5, 3.0, 3.0, 5.5)),
        draw.choice((55.0, 55.0, 69.0, 103.0, 138.0)),
        _log(draw, 2.0, 60.0) if well else None, _log(draw, 30.0, 900.0) if well else None,
    )  # fmt: skip


def _site(draw: Random) -> SiteLimits:
    return SiteLimits(
        wall_m=draw.choice((None, None, None, None, 5.0, 4.0, 2.5, 1.5)),
        depth_m=draw.choice((None, None, None, None, 0.8, 0.6, 0.35)),
        height_m=draw.choice((None, None, None, None, 2.4, 2.2, 1.5)),
        drain=_often(draw, 0.95),
        power=draw.choice(("mains",) * 16 + ("12v", "12v", "12v", "none")),
        power_w=draw.choice((None, None, None, None, 150.0, 60.0)),
        winter_heated=_often(draw, 0.7),
        winter_occupied=_often(draw, 0.7),
        septic=_often(draw, 0.8),
        infants_or_pregnancy=_often(draw, 0.1),
    )


def _pressed(odd: Random, supply: SupplySide) -> SupplySide:
    """Now and then a switch set far too wide or far too low, and a tank whose sizes are known."""
    wide = 300.0 if _often(odd, 0.08) else 0.0
    low = 110.0 if _often(odd, 0.08) else supply.cut_in_kpa
    sizes = odd.choice(((None, None), (None, None), (0.41, 0.76), (0.56, 1.2), (0.66, 1.5)))
    return replace(
        supply, cut_in_kpa=low, cut_out_kpa=supply.cut_out_kpa + wide, tank_diameter_m=sizes[0],
        tank_height_m=sizes[1],
    )  # fmt: skip


def _aired(odd: Random, site: SiteLimits) -> SiteLimits:
    return replace(site, room_c=round(odd.uniform(12.0, 30.0), 1), room_humidity=round(odd.uniform(30.0, 95.0)))


def household(seed: int, catalogue: tuple) -> DesignRequest:
    """One household; the same seed gives the same one."""
    draw = Random(seed)
    source = draw.choice(SOURCES)
    water = _water(draw, source)
    wanted = draw.choice((0, 1, 1, 2, 2, 3))
    entry = {code: draw.choice(ENTRY_GOALS[code]) for code in draw.sample(sorted(ENTRY_GOALS), wanted)}
    tap = {code: limit for code, limit in TAP_GOALS.items() if code in water and _often(draw, 0.35)}
    seasonal = _often(draw, 0.25)
    people = draw.choice((1, 2, 2, 3, 4, 4, 5, 6))
    odd = Random(f"pressure, air and rules {seed}")  # a draw of its own
    lanes = Random(f"lanes {seed}")  # and another
    return DesignRequest(
        water=Water(water),
        source=source,
        supply=_pressed(odd, _supply(draw, source)),
        fixtures=(*_fixtures(draw), *_outside(lanes)),
        occupancy=Occupancy(people, people + draw.choice((0, 1, 4)), SUMMER if seasonal else YEAR,
                            outside_litres_day=lanes.choice((0.0, 0.0, 400.0))),
        site=replace(_aired(odd, _site(draw)), outside_untreated=_often(lanes, 0.4)),
        goals=Goals(entry, tap, *draw.choice(((6.5, 8.5), (6.5, 8.5), (None, None))),
                    uv_dose=40.0 if _often(draw, 0.1) else 0.0, dry_tank=_often(odd, 0.1),
                    soften="hot" if _often(lanes, 0.25) else "all",
                    barrier_rule=odd.choice(("household",) * 9 + ("us_public", "health_canada", "quebec"))),
        catalogue=catalogue,
        cost=CostTerms(years=draw.choice((10, 15, 20))),
    )  # fmt: skip
