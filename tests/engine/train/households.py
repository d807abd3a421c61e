"""Households written from common practice, with the starter catalogue. The numbers are invented."""

from dataclasses import replace
from functools import cache

from sizing.engine.design import (
    DesignRequest,
    Fixture,
    Goals,
    Measured,
    Occupancy,
    SiteLimits,
    SourceType,
    SupplySide,
)
from sizing.engine.stages.starter import load_starter
from sizing.engine.water import Water

CATALOGUE = load_starter()
CABIN = (Fixture("shower", 1), Fixture("lavatory", 1), Fixture("toilet", 1), Fixture("kitchen_faucet", 1))
SMALL_HOUSE = (
    Fixture("bath_shower", 1), Fixture("lavatory", 2), Fixture("toilet", 2), Fixture("kitchen_faucet", 1),
    Fixture("clothes_washer", 1),
)  # fmt: skip
GROUNDWATER = {
    "ph": 7.3, "alkalinity": 250.0, "turbidity": 0.5, "uvt": 92.0, "temperature": 9.0, "sulphide": 0.0, "tannin": 0.0,
    "iron": 0.02, "iron_dissolved": 0.01, "manganese": 0.005, "dissolved_oxygen": 1.0, "free_chlorine": 0.0,
    "tds": 400.0, "sodium": 12.0, "chloride": 20.0, "sulphate": 30.0, "nitrate": 1.0, "total_coliform": 0.0,
    "e_coli": 0.0, "hardness": 120.0,
}  # fmt: skip


def drilled(**water):
    """A drilled well, one and a half bathrooms, 50 to 70 psi, a good pump."""
    return DesignRequest(
        water=Water({**GROUNDWATER, **water}),
        source=SourceType.DRILLED_WELL,
        supply=SupplySide(Measured(38.0, 1.0), 345.0, 483.0, 170.0, pipe_nominal="1"),
        fixtures=SMALL_HOUSE,
        occupancy=Occupancy(4, 5),
        site=SiteLimits(septic=False),
        goals=Goals(),
        catalogue=CATALOGUE,
    )


@cache
def iron_well():
    """Iron, hardness, sulphide and coliforms together."""
    asked = drilled(
        iron=2.8, iron_dissolved=2.6, manganese=0.04, hardness=325.0, sulphide=0.2, total_coliform=4.0, uvt=88.0
    )
    goals = Goals(at_entry={"iron": 0.3, "hardness": 60.0, "sulphide": 0.05})
    return replace(asked, goals=goals)


@cache
def lake_cabin():
    """A coloured lake with coliforms, a cabin open in summer, not heated in winter."""
    water = {
        "colour": 45.0, "tannin": 1.2, "turbidity": 2.5, "uvt": 70.0, "hardness": 25.0, "iron": 0.05, "ph": 7.0,
        "manganese": 0.01, "alkalinity": 20.0, "total_coliform": 30.0, "e_coli": 3.0, "temperature": 4.0,
        "sulphide": 0.0, "suspended_solids": 4.0, "sulphate": 4.0, "nitrate": 0.1, "tds": 60.0, "chloride": 3.0,
        "sodium": 3.0, "free_chlorine": 0.0,
    }  # fmt: skip
    return DesignRequest(
        water=Water(water),
        source=SourceType.LAKE,
        supply=SupplySide(Measured(30.0, 1.0), 276.0, 414.0, 120.0),
        fixtures=CABIN,
        occupancy=Occupancy(2, 5, (5, 6, 7, 8, 9)),
        site=SiteLimits(winter_heated=False, winter_occupied=False),
        goals=Goals(at_entry={"colour": 15.0, "turbidity": 1.0}),
        catalogue=CATALOGUE,
    )


@cache
def hard_well():
    """Clear and hard, nothing else."""
    return replace(drilled(hardness=300.0), goals=Goals(at_entry={"hardness": 60.0}))


@cache
def nitrate_well():
    """Nitrate above the limit, otherwise good water."""
    return replace(drilled(nitrate=18.0), goals=Goals(at_tap={"nitrate": 10.0}))


@cache
def hopeless():
    """The iron well with a pump too small for any backwash, and no drain."""
    asked = iron_well()
    supply = replace(asked.supply, pump_flow_l_min=Measured(12.0, 0.5))
    return replace(asked, supply=supply, site=SiteLimits(drain=False))
