"""Every constraint a finished train breaks, from the request and the train alone.

Written from the list of constraints: limits at the entry and the tap, feed limits at every stage after
treatment and at flow; log credits by class of source, the dose at the flow the plumbing can deliver, backwash
against pump and well, pressure at the worst fixture at cut-in with dirty filters, drain, space, power, winter,
certified claims, order. It asks the engine for two published calculations only, each with outside checks of its
own: ``demand.peak_flow`` (Peak Water Demand Study; a plain convolution here checks that it is not below the
whole list's) and ``media.temperature_factor`` (how cold water lifts a bed); see ``passed`` for the two of
chemistry.
"""

import math
from dataclasses import dataclass, field, replace

import numpy as np

from sizing.engine.demand import peak_flow
from sizing.engine.design import DesignRequest, PlacedStage, StageKind, Train
from sizing.engine.findings import Severity

from . import restated as r
from .passed import Here, behind, giardia_logs_of_contact, logs_of_dose, uv_dose, virus_logs_of_contact
from .sizes import enough

K = StageKind
BETTER_HIGH = ("uvt",)  # analytes of which more is better; pH is judged on its own


@dataclass
class Walk:
    """A train walked through: what is found wrong, the water, the flow, and what the stages have taken."""

    request: DesignRequest
    peak: float
    temperature: float
    water: dict
    flow: float
    entry: dict = field(default_factory=dict)
    heated: dict | None = None  # behind a softener on the hot line
    wrong: list = field(default_factory=list)
    lost: float = 0.0
    wall: float = 0.0
    watts: float = 0.0
    dose: float = 0.0
    virus: float = 0.0
    contact_giardia: float = 0.0
    filter_cysts: float = 0.0
    static: float = 0.0  # pressure at no flow
    lift: float = 0.0  # what a booster adds at peak
    untimed: bool = False
    unfiltered: bool = False
    dry: bool = False  # a jacket stands round the tank
    fine: bool = False
    cyst: bool = False

    def add(self, code: str, *detail: object) -> None:
        """One constraint broken, with its numbers."""
        self.wrong.append((code, *detail))


def violations(request: DesignRequest, train: Train) -> list[tuple]:
    """All constraints the train breaks: tuples that begin with a code and hold the numbers."""
    water = dict(request.water.values)
    temperature = float(water.get("temperature", r.COLDEST[request.source]))
    pump = float(request.supply.pump_flow_l_min.value)
    asked = peak_flow(passing(request), people=request.occupancy.people_peak).flow_l_min
    peak = min(asked, pump)
    walk = Walk(request, peak, temperature, water, pump, entry=water, static=request.supply.cut_out_kpa)
    if asked < plain_peak_l_min(request) - 1e-6:
        walk.add("peak demand", asked)
    told = list(train.waters[1:])
    for stage in train.stages:
        after = {"hot": train.hot_water, "tap": train.tap_water}
        _stage(walk, stage, told.pop(0) if stage.at == "main" else after[stage.at], train)
    _order(walk, train)
    _whole(walk, train)
    _branched(walk, train)
    return walk.wrong


def plain_peak_l_min(request: DesignRequest) -> float:
    """99th percentile of the flow while some water runs, by a plain convolution of binomials on 0.1 gpm."""
    chance = np.ones(1)
    steady = 0.0
    for fixture in passing(request):
        p, gpm = r.FIXTURES[fixture.code]
        if p is None:  # an outside tap left running: added as it is
            steady += fixture.count * gpm
            continue
        one = np.zeros(round(gpm * 10) + 1)
        one[0], one[-1] = 1.0 - p, p
        for _ in range(fixture.count):
            chance = np.convolve(chance, one)
    running = (np.cumsum(chance) - chance[0]) / (1.0 - chance[0])
    return (float(np.searchsorted(running, 0.99 - 1e-12)) / 10.0 + steady) * r.GAL


def passing(request: DesignRequest) -> list:
    """The fixtures whose water goes through the treatment."""
    branched = request.site.outside_untreated
    return [fixture for fixture in request.fixtures if not (branched and fixture.code == "outdoor_tap")]


def _branched(walk: Walk, train: Train) -> None:
    """An outside tap ahead of the treatment is told as one; the pump bears it; where germs are, a health matter."""
    request = walk.request
    taps = sum(fixture.count for fixture in request.fixtures) - sum(fixture.count for fixture in passing(request))
    told = {branch.code: branch.taps for branch in train.branches}
    if told.get("outside", 0) != taps:
        walk.add("outside branch told wrong", told, taps)
    if ("tap" in told) != any(stage.at == "tap" for stage in train.stages):
        walk.add("tap branch told wrong", told)
    said = [finding for finding in train.findings if finding.code == "outside_tap_untreated"]
    if bool(said) != bool(taps):
        walk.add("outside tap not marked")
    if taps and source_class(request) != "ground" and said[0].severity is not Severity.HEALTH:
        walk.add("raw water with germs outside is no note")
    on_hot = [stage.kind for stage in train.stages if stage.at == "hot"]
    softeners = [stage.at for stage in train.stages if stage.kind is K.SOFTENER]
    if ("hot" in told) != bool(on_hot) or set(on_hot) - {K.SOFTENER}:
        walk.add("hot line told wrong", told, on_hot)
    if any(at != ("hot" if _wants_hot(request) else "main") for at in softeners):
        walk.add("softener on the wrong line", softeners)
    if _wants_hot(request) != any(finding.code == "soft_hot_only" for finding in train.findings):
        walk.add("hard cold water not said")
    house = peak_flow(passing(request), people=request.occupancy.people_peak).flow_l_min
    pump = float(request.supply.pump_flow_l_min.value)
    short = house + taps * 5.0 * r.GAL > pump + 1e-6  # 5 gpm at a hose bibb: IPC 2018 (P)
    if short != any(finding.code == "pump_below_peak" for finding in train.findings):
        walk.add("the pump against all taps", house, taps, pump)


def _stage(walk: Walk, stage: PlacedStage, told, train: Train) -> None:
    request, count, tap = walk.request, stage.count, stage.at == "tap"
    flow = float(request.supply.pump_flow_l_min.value) if tap else walk.flow
    here = Here(
        flow / count, min(walk.peak, flow) / count, _daily_l(request) / count,
        float(request.supply.pump_flow_l_min.value), walk.temperature,
    )  # fmt: skip
    if stage.at == "hot":
        here = _on_the_hot_line(walk, here)
    _fed(walk, stage, here, train)
    for code, value, limit in enough(request, stage, walk.water, here):
        walk.add(f"{stage.kind.value} {code}", round(value, 3), round(limit, 3))
    _chlorinated(walk, stage)
    _place(walk, stage)
    _pressed(walk, stage)
    _flows(walk, stage, here)
    _germs(walk, stage, here)
    after = behind(stage, walk.water, here)
    _told_right(walk, stage, after, told)
    if stage.at == "hot":  # the cold water passes it by
        walk.heated = after
        return
    walk.water = after
    if not tap:
        walk.entry = after


def _wants_hot(request: DesignRequest) -> bool:
    return request.goals.soften == "hot"


def _on_the_hot_line(walk: Walk, here: Here) -> Here:
    """All taps with hot water open, at most; two fifths of the day's water (M, a third, with a margin)."""
    drawn = [fixture for fixture in passing(walk.request) if fixture.code not in ("toilet", "outdoor_tap")]
    most = sum(r.FIXTURES[fixture.code][1] * fixture.count for fixture in drawn) * r.GAL
    return replace(
        here, flow=min(here.flow, most), peak=min(here.peak, peak_flow(drawn).flow_l_min), daily=0.4 * here.daily
    )


def _daily_l(request: DesignRequest) -> float:
    people = request.occupancy
    watered = any(fixture.code == "outdoor_tap" for fixture in passing(request))
    return people.people_usual * people.litres_per_person_day + people.outside_litres_day * watered


def _fed(walk: Walk, stage: PlacedStage, here: Here, train: Train) -> None:
    kind, water = stage.kind, walk.water
    known = water | {"temperature": water.get("temperature", walk.temperature)}
    light = r.LIGHT if stage.product.ratings.get("medium") == "light_oxidation" else ()
    for code, sense, value in (*r.FEED.get(kind, ()), *light):
        if code in known and (known[code] > value if sense == "max" else known[code] < value):
            walk.add(f"feed {kind.value} {code}", known[code], value)
    cold = (("temperature", "min", r.BED_COLD),) if stage.product.ratings.get("tank_diameter_in") else ()
    for code, sense, value, *only in (*r.ADVISED.get(kind, ()), *cold):
        if only and not _is(stage, only[0]):
            continue
        passed = code in known and (known[code] > value if sense == "max" else known[code] < value)
        if passed and not any(f.code == "feed_outside_soft_limit" and f.subject == code for f in train.findings):
            walk.add(f"unsaid {kind.value} {code}", known[code], value)
    for code in r.MEASURED.get(kind, ()):
        if code not in water:
            walk.add(f"untested {kind.value} {code}")
    ratings = stage.product.ratings
    if kind is K.UV and water.get("uvt", 0.0) < ratings["rated_uvt"]:
        walk.add("feed uv uvt", water.get("uvt"), ratings["rated_uvt"])
    if kind is K.SOFTENER:  # no iron with oxygen on the resin: Utah R309-535-11(4), Wisconsin NR 811.52(4)
        airy = water.get("dissolved_oxygen", 0.0) > 1.0 or water.get("free_chlorine", 0.0) > 0.1
        if airy and water.get("iron", 0.0) > 0.3:
            walk.add("feed softener iron with oxygen", water["iron"], 0.3)
    if kind is K.RETENTION and water.get("free_chlorine", 0.0) < 0.2:
        walk.add("feed retention chlorine", water.get("free_chlorine"), 0.2)


def _chlorinated(walk: Walk, stage: PlacedStage) -> None:
    """Chlorine wants its contact tank, and a filter behind that for the sulphur and rust it makes."""
    kind = stage.kind
    if kind is K.CHLORINE:
        walk.untimed = True
        walk.unfiltered = any(walk.water.get(code, 0.0) > least for code, least in r.TURNED_SOLID.items())
    elif kind is K.RETENTION:
        walk.untimed = False
    elif kind in r.HOLDS_SOLIDS and not walk.untimed:
        walk.unfiltered = False


def _is(stage: PlacedStage, form: str) -> bool:
    """Whether a stage is of the form an advised limit is for: a fine cartridge, a carbon tank."""
    ratings = stage.product.ratings
    return ratings["micron"] <= 5.0 if form == "fine" else ratings["form"] == form


def _place(walk: Walk, stage: PlacedStage) -> None:
    request, ratings, kind, count = walk.request, stage.product.ratings, stage.kind, stage.count
    site, supply, tap = request.site, request.supply, stage.at == "tap"
    wall, depth, height = _room(stage)
    if not tap:
        walk.wall += wall * count
        for code, value, limit in (("depth", depth, site.depth_m), ("height", height, site.height_m)):
            if limit is not None and value > limit + 1e-9:
                walk.add(code, kind.value, value, limit)
    power = float(ratings.get("power_w") or 0.0)
    walk.watts += power * count
    if power > 0 and (site.power == "none" or (site.power == "12v" and ratings.get("supply") == "mains")):
        walk.add("power", kind.value, site.power)
    wash = float(ratings.get("drain_flow_l_min") or 0.0)
    if (wash > 0 or kind is K.ULTRAFILTER) and not site.drain:
        walk.add("drain", kind.value)
    if wash > float(supply.pump_flow_l_min.value) + 1e-9:
        walk.add("backwash", kind.value, wash, supply.pump_flow_l_min.value)
    if wash > 0 and supply.well_yield_l_min is not None and supply.well_storage_l is not None:
        litres = stage.needs.backwash_l
        if litres < wash * float(ratings["rinse_min"]) - 1e-6:  # salt stages rinse longer, never shorter
            walk.add("backwash volume told too small", kind.value, litres)
        minutes = litres / wash
        if supply.well_storage_l + supply.well_yield_l_min * minutes < litres - 1e-6:
            walk.add("well recovery", kind.value, litres)
    if not site.winter_heated and kind in (K.RO, K.ULTRAFILTER) and not stage.needs.portable:
        walk.add("winter", kind.value)  # neither drains: they are carried to the warm
    if not site.winter_heated and not (stage.needs.drainable or stage.needs.portable):
        walk.add("winter", kind.value)


def _pressed(walk: Walk, stage: PlacedStage) -> None:
    """Pressure at no flow, what a stage bears of it, and the jacket round the tank."""
    ratings, supply, site = stage.product.ratings, walk.request.supply, walk.request.site
    bears = ratings.get("most_kpa")
    if bears is not None and walk.static > bears + 1e-6:
        walk.add("static", stage.kind.value, walk.static, bears)
    if stage.kind is K.BOOSTER:
        walk.static += ratings["shutoff_kpa"]
        walk.lift = -_loss(stage, walk.peak)
        if walk.peak > ratings["rated_flow_l_min"] * (1 + 1e-9):
            walk.add("booster too small", walk.peak, ratings["rated_flow_l_min"])
    if stage.kind is K.REDUCER:
        walk.static = min(walk.static, ratings["set_kpa"])
        walk.lost = max(walk.lost, supply.cut_in_kpa - ratings["set_kpa"])  # it takes what stands above its setting
        if ratings["set_kpa"] < supply.cut_in_kpa:
            walk.add("reducer below cut-in", ratings["set_kpa"], supply.cut_in_kpa)
    if stage.kind is K.RO:  # at cut-in, at the height of the worst fixture
        arrives = min(supply.cut_in_kpa + walk.lift, walk.static) - 9.80665 * supply.worst_fixture_height_m
        least = ratings.get("least_kpa") or r.MEMBRANE_FEED
        if arrives + ratings["boost_kpa"] < least - 0.1:
            walk.add("membrane pressure", arrives + ratings["boost_kpa"], least)
    if stage.kind is K.JACKET:
        walk.dry = True
        if site.room_c is not None and site.room_humidity is not None:
            water = min(max(walk.temperature, 0.0), 40.0)
            wanted = foam_m(water, site.room_c, site.room_humidity, ratings["conductivity_w_mk"])
            if ratings["thickness_m"] < wanted * 0.99:
                walk.add("jacket too thin", ratings["thickness_m"], wanted)
        sizes = (supply.tank_diameter_m, supply.tank_height_m)
        made = (ratings["tank_diameter_m"], ratings["tank_height_m"])
        if None not in sizes and any(abs(a / b - 1.0) > 0.051 for a, b in zip(made, sizes, strict=True)):
            walk.add("jacket does not fit", *made)


def foam_m(water_c: float, air_c: float, percent: float, conductivity: float) -> float:
    """Foam that keeps its outside at the dew point (Magnus, Alduchov and Eskridge 1996; film 8.29 W/m2K), m."""
    stands = math.log(percent / 100.0) + 17.625 * air_c / (243.04 + air_c)
    dew = 243.04 * stands / (17.625 - stands)
    return max(conductivity / 8.29 * (dew - water_c) / max(air_c - dew, 1e-9), 0.0)


def _room(stage: PlacedStage) -> tuple[float, float, float]:
    """Wall, depth, height of one unit with the room to serve it, m."""
    ratings, kind = stage.product.ratings, stage.kind
    if ratings.get("tank_diameter_in"):
        across = ratings["tank_diameter_in"] * r.IN
        salt = r.SALT_TANK if kind in r.SALT else 0.0
        wall = across + r.SIDE + (salt + r.SIDE if salt else 0.0)
        return wall, max(across, salt) + r.SIDE, ratings["tank_height_in"] * r.IN + r.VALVE + r.ABOVE
    if kind is K.JACKET:
        return 2.0 * ratings["thickness_m"], 2.0 * ratings["thickness_m"], ratings["tank_height_m"]
    wall, depth, height = ratings["width_m"], ratings.get("depth_m") or 0.0, ratings.get("height_m") or 0.0
    if kind in (*r.HOUSED, K.CARBON, K.ULTRAFILTER, K.RO):
        height += r.SUMP
    if kind is K.UV:
        lamp = ratings["lamp_length_m"]
        wall, height = (wall, height + lamp) if ratings["mount"] == "upright" else (wall + lamp, height)
    return wall, depth, height


def _loss(stage: PlacedStage, flow: float) -> float:
    """Loss at a flow through one unit, filters dirty, kPa."""
    ratings, kind = stage.product.ratings, stage.kind
    if kind is K.BOOSTER:  # through its shut-off and its rated point
        fall = (ratings["shutoff_kpa"] - ratings["boost_kpa"]) * (flow / ratings["rated_flow_l_min"]) ** 2
        return -max(ratings["shutoff_kpa"] - fall, 0.0)
    if "loss_kpa" not in ratings or kind in (K.CHLORINE, K.SODA_ASH):
        return 0.0
    rated = ratings.get("rated_flow_l_min") or ratings["flow_l_min"]
    if kind is K.RESTRICTOR:
        flow = min(flow, rated)
    tank = ratings.get("tank_diameter_in") is not None
    form = "bed" if tank else "housing" if kind in (*r.HOUSED, K.CARBON) else "ports"
    form = "fibres" if kind is K.ULTRAFILTER else form
    share, ratio = r.LINEAR[form], flow / rated
    clean = ratings["loss_kpa"] * (share * ratio + (1.0 - share) * ratio**2)
    if form == "fibres":
        return 2.0 * clean
    if form == "housing":
        return clean + max(r.CHANGE_AT - ratings["loss_kpa"], 0.0) * ratio
    return clean + (r.BED_DIRT * ratio if form == "bed" and kind not in r.SALT else 0.0)


def _flows(walk: Walk, stage: PlacedStage, here: Here) -> None:
    ratings, kind = stage.product.ratings, stage.kind
    if stage.at != "tap":
        peak = min(walk.peak, here.peak) if stage.at == "hot" else walk.peak
        mine = _loss(stage, peak / stage.count)
        if abs(mine - stage.loss_dirty_kpa) > 0.01 * abs(mine) + 0.05:
            walk.add("loss told wrong", kind.value, stage.loss_dirty_kpa, mine)
        walk.lost += mine
    if kind is K.RESTRICTOR:
        if ratings["flow_l_min"] < walk.peak - 1e-6:
            walk.add("restrictor below peak", ratings["flow_l_min"], walk.peak)
        walk.flow = min(walk.flow, ratings["flow_l_min"] * (1.0 + ratings["tolerance"] / 100.0))


def _germs(walk: Walk, stage: PlacedStage, here: Here) -> None:
    ratings, kind = stage.product.ratings, stage.kind
    if kind is K.UV:
        dose = uv_dose(stage, walk.water, here.flow)
        least = r.CLASS_A if ratings["uv_class"] == "A" else r.CLASS_B
        if dose < least - 1e-9:
            walk.add("uv dose", dose, least)
        if not walk.fine:
            walk.add("no fine filter ahead of uv")
        if walk.request.source in r.SURFACE | r.INFLUENCED and not walk.cyst:
            walk.add("no cyst filter ahead of uv", walk.request.source.value)
        if ratings["uv_class"] == "A":
            walk.dose = max(walk.dose, dose)
    if kind is K.RETENTION:
        walk.virus = max(walk.virus, virus_logs_of_contact(stage, walk.water, here))
        walk.contact_giardia = max(walk.contact_giardia, giardia_logs_of_contact(stage, walk.water, here))
    if kind in r.SHEDS and stage.at != "hot":
        walk.fine = walk.cyst = False
    if kind is K.ULTRAFILTER:
        walk.fine = walk.cyst = True
        walk.filter_cysts = r.CYST_LOGS
    if kind is K.SEDIMENT and ratings["micron"] <= 5.0:
        walk.fine = True
        absolute = ratings["rating"] == "absolute" and ratings["micron"] <= 1.0
        walk.cyst = walk.cyst or absolute or bool(ratings["cyst_claim"])
        if absolute or ratings["cyst_claim"]:
            walk.filter_cysts = r.CYST_LOGS


def _told_right(walk: Walk, stage: PlacedStage, after: dict, told) -> None:
    """The water the train tells behind the stage is no better than the one reckoned here."""
    for code, value in after.items():
        if code == "ph":
            worse = abs(told[code] - value) > 0.05
        elif code in ("alkalinity", "dissolved_oxygen", "chloride", "conductivity", "tds"):
            continue
        elif code in BETTER_HIGH:
            worse = told[code] > value * 1.002 + 1e-9
        else:
            worse = told[code] < value * 0.995 - 1e-9
        if worse:
            walk.add(f"told {stage.kind.value} {code}", told[code], value)


def _order(walk: Walk, train: Train) -> None:
    codes = [_order_code(stage) for stage in train.stages if stage.at != "hot"]
    for place, code in enumerate(codes):
        for later in codes[place + 1 :]:
            if (later, code) in r.BEFORE:
                walk.add("order", later, code)
    main = [stage.kind for stage in train.stages if stage.at == "main"]
    if K.UV in main and main[-1] is not K.UV:  # 10 NYCRR App. 75-B.2: nothing that can seed germs behind it
        walk.add("order", "behind uv", main[-1].value)
    places = [stage.at for stage in train.stages]
    if places != sorted(places, key=("main", "hot", "tap").index):
        walk.add("order", "tap stage on the main line")


def _order_code(stage: PlacedStage) -> str:
    if stage.kind is K.SEDIMENT:
        return "fine" if stage.product.ratings["micron"] <= 5.0 else "coarse"
    return stage.kind.value


def source_class(request: DesignRequest) -> str:
    """Class of the source, by which log credits are wanted."""
    if request.source in r.SURFACE:
        return "surface"
    if request.source in r.INFLUENCED:
        return "influenced"
    found = any(request.water.get(code, 0.0) > 0 for code in ("total_coliform", "e_coli"))
    return "ground, germs found" if found else "ground"


def _whole(walk: Walk, train: Train) -> None:
    request = walk.request
    supply, site, goals = request.supply, request.site, request.goals
    left = supply.cut_in_kpa - walk.lost - 9.80665 * supply.worst_fixture_height_m
    pipe = pipe_kpa(request, walk.peak, walk.temperature)
    if left - pipe < supply.worst_fixture_min_kpa - 0.03 * pipe - 0.1:
        walk.add("pressure", left - pipe, supply.worst_fixture_min_kpa)
    if walk.static > 80.0 * r.PSI + 0.01:  # P: IRC P2903.3.1
        walk.add("static", "plumbing", walk.static)
    if goals.dry_tank and not walk.dry:
        cold = min(max(walk.temperature, 0.0), 40.0)
        if foam_m(cold, site.room_c, site.room_humidity, 1.0) > 1e-4:
            walk.add("tank sweats", site.room_c, site.room_humidity)
    if site.wall_m is not None and walk.wall > site.wall_m + 1e-6:
        walk.add("wall", walk.wall, site.wall_m)
    if site.power_w is not None and walk.watts > site.power_w + 1e-6:
        walk.add("watts", walk.watts, site.power_w)
    entry_goals = dict(goals.at_entry)
    softened = {"hardness": entry_goals.pop("hardness")} if _wants_hot(request) and "hardness" in entry_goals else {}
    hot = walk.entry if walk.heated is None else walk.heated
    places = (("entry", walk.entry, entry_goals), ("hot", hot, softened), ("tap", walk.water, goals.at_tap))
    for place, water, wanted in places:
        for code, limit in wanted.items():
            if code in water and water[code] > limit * (1 + 1e-9):
                walk.add(f"goal {code} {place}", water[code], limit)
    if "ph" in walk.entry:
        low, high = goals.ph_low, goals.ph_high
        if (low is not None and walk.entry["ph"] < low - 0.01) or (
            high is not None and walk.entry["ph"] > high + 0.01
        ):
            walk.add("goal ph entry", walk.entry["ph"])
    if walk.untimed:
        walk.add("chlorine without contact")
    if walk.unfiltered:
        walk.add("chlorine without a filter behind")
    _credits(walk, train)
    if any("safe to drink" in finding.message.lower() for finding in train.findings):
        walk.add("promises safety")
    said = {finding.code for finding in train.findings}
    raw, tap = request.water, walk.water
    if any(code in raw and tap[code] < raw[code] - 1e-9 for code in r.CERTIFIED) and "test_after" not in said:
        walk.add("no test after asked for")
    if raw.get("nitrate", 0.0) > goals.at_tap.get("nitrate", math.inf) and "nitrate_boiling" not in said:
        walk.add("boiling not warned of")
    _warned(walk, train, said)
    if any(s.kind in (K.SOFTENER, K.SODA_ASH) for s in train.stages) and "sodium_added" not in said:
        walk.add("sodium not said")


def _warned(walk: Walk, train: Train, said: set) -> None:
    """Salt to a septic tank, sodium at the tap, a backwash beyond a well of which only the yield is known."""
    request, raw, tap = walk.request, walk.request.water, walk.water
    if request.site.septic and any(s.kind in r.SALT for s in train.stages) and "brine_to_septic" not in said:
        walk.add("brine to septic not said")
    for most, code in ((r.SODIUM_DIET, "sodium_above_diet"), (r.SODIUM_TASTE, "sodium_above_taste")):
        if "sodium" in raw and tap["sodium"] > max(most, raw["sodium"]) * 1.01 and code not in said:
            walk.add("sodium not warned of", tap["sodium"], most)
    supply = request.supply
    wash = max((float(s.product.ratings.get("drain_flow_l_min") or 0.0) for s in train.stages), default=0.0)
    yields = supply.well_yield_l_min if supply.well_storage_l is None else None
    if yields is not None and wash > yields and "well_storage_unknown" not in said:
        walk.add("well not doubted", wash, yields)


def _credits(walk: Walk, train: Train) -> None:
    """Logs by class of source. Viruses: 40 mJ/cm2 is half a log; short of 4 logs the train must say so."""
    group = source_class(walk.request)
    if walk.request.goals.barrier_rule != "household":
        _by_rule(walk, group)
        return
    floor = max(walk.request.goals.uv_dose, r.CLASS_A if group != "ground" else 0.0)
    if walk.dose < floor - 1e-9:
        walk.add("barrier", walk.dose, floor)
    for organism in ("giardia", "cryptosporidium"):
        earned = logs_of_dose(walk.dose, organism)
        if earned < r.WANTED[group].get(organism, 0.0):
            walk.add(f"logs of {organism}", earned)
    virus = walk.virus + logs_of_dose(walk.dose, "virus")
    if virus < r.WANTED[group].get("virus", 0.0):
        said = [
            f for f in train.findings if f.code in ("virus_credit", "uv_weak_on_viruses") and "0.5 log" in f.message
        ]
        if not said:
            walk.add("virus shortfall not said", virus)


def _by_rule(walk: Walk, group: str) -> None:
    """Logs by organism, as the rule asked for wants them, from all barriers of the line together."""
    goals = walk.request.goals
    if walk.dose < goals.uv_dose - 1e-9:
        walk.add("barrier", walk.dose, goals.uv_dose)
    wanted = (0.0, 0.0, 0.0)
    if group == "ground, germs found":
        wanted = (0.0, 0.0, 4.0)
    elif group != "ground" and goals.barrier_rule == "quebec":
        wanted = next(logs for upto, logs in r.QUEBEC if walk.request.water.get("e_coli", 0.0) <= upto)
    elif group != "ground":
        wanted = r.RULES[goals.barrier_rule]
    earned = (
        walk.filter_cysts + logs_of_dose(walk.dose, "cryptosporidium"),  # chlorine earns nothing here
        walk.filter_cysts + logs_of_dose(walk.dose, "giardia") + walk.contact_giardia,
        walk.virus + logs_of_dose(walk.dose, "virus"),
    )
    for organism, asked, found in zip(("cryptosporidium", "giardia", "virus"), wanted, earned, strict=True):
        if found < asked - 0.02:
            walk.add(f"logs of {organism}", found, asked)


def pipe_kpa(request: DesignRequest, flow: float, temperature: float) -> float:
    """Darcy-Weisbach by Swamee-Jain on the run and half its length again for fittings, kPa."""
    supply = request.supply
    bore = r.BORE[supply.pipe_material, supply.pipe_nominal] * r.IN
    speed = flow / 60000.0 / (math.pi / 4.0 * bore**2)
    kelvin = max(temperature, 0.0) + 273.15
    viscosity = 2.414e-5 * 10.0 ** (247.8 / (kelvin - 140.0))  # Pa s, within 2.5 % (M)
    reynolds = 1000.0 * speed * bore / viscosity
    if reynolds < 2300.0:
        factor = 64.0 / max(reynolds, 1e-6)
    else:
        factor = 0.25 / math.log10(r.ROUGH / 1000.0 / bore / 3.7 + 5.74 / reynolds**0.9) ** 2
    return factor * supply.pipe_run_m * 1.5 / bore * 500.0 * speed**2 / 1000.0


__all__ = ["pipe_kpa", "plain_peak_l_min", "source_class", "violations"]
