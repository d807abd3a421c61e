"""Whether a stage is large enough for what passes it, restated: flows, contact, capacity, runs, feeds, output."""

import math

from sizing.engine.design import DesignRequest, PlacedStage, StageKind
from sizing.engine.media import temperature_factor

from . import restated as r
from .passed import Here, setting

K = StageKind
STEADY = (K.SEDIMENT, K.SCREEN, K.ULTRAFILTER, K.UV)  # judged at the most that can pass, not at the peak


def enough(request: DesignRequest, stage: PlacedStage, water: dict, here: Here):
    """(code, value, limit) of each size that is not enough."""
    found = [*_flow(stage, here), *_backwash(stage, here)]
    found += _BY_KIND.get(stage.kind, lambda *_: [])(request, stage, water, here)
    return [(code, value, limit) for code, sense, value, limit in found if _broken(sense, value, limit)]


def _broken(sense: str, value: float, limit: float) -> bool:
    slack = 1e-6 + 1e-3 * abs(limit)
    return value > limit + slack if sense == "max" else value < limit - slack


def _flow(stage, here):
    ratings = stage.product.ratings
    tank = ratings.get("tank_diameter_in") is not None
    if stage.kind in STEADY or (stage.kind is K.CARBON and not tank):
        yield "largest flow", "max", here.flow, ratings["rated_flow_l_min"]
    elif tank:
        yield "peak flow", "max", here.peak, ratings["rated_flow_l_min"]


def _backwash(stage, here):
    ratings = stage.product.ratings
    wash = float(ratings.get("drain_flow_l_min") or 0.0)
    if wash <= 0:
        return
    medium = ratings["medium"]
    cold = temperature_factor("carbon" if medium == "catalytic_carbon" else medium, round(_clip(here), 1))
    least = r.BACKWASH[medium] * r.GAL * _area_m2(ratings) / r.FT2 * float(cold)
    yield "backwash lift", "min", wash, least


def _clip(here):
    return min(max(here.temperature, 0.0), 40.0)


def _area_m2(ratings):
    return math.pi / 4.0 * (ratings["tank_diameter_in"] * r.IN) ** 2


def _softener(request, stage, water, here):
    ratings = stage.product.ratings
    iron, manganese = water.get("iron_dissolved", water.get("iron", 0.0)), water.get("manganese", 0.0)
    counted = water["hardness"] + r.GPG * ((5.0 if iron > 1.0 else 2.0) * iron + 2.0 * manganese)
    feet, dose = ratings["media_l"] / r.FT3, setting(stage, "Salt dose") / r.LB
    full = (10286.0 * math.log(dose / feet) + 1326.0) * feet * r.GRAIN  # training slides (CP)
    rated = (
        (10286.0 * math.log(min(max(ratings["rated_salt_kg"] / r.LB / feet, 4.0), 20.0)) + 1326.0) * feet * r.GRAIN
    )
    capacity = full * min(ratings["rated_capacity_g"] / rated, 1.0)
    twin = ratings["tanks"] == "twin"
    days = capacity * (1.0 if twin else 0.75) / max(here.daily * counted / 1000.0, 1e-3)
    yield "days between", "min", days, 1.0 if twin else 3.0


def _organics(request, stage, water, here):
    run = 2100.0 * r.GAL * stage.product.ratings["media_l"] / r.FT3 / max(water.get("tannin", 0.0), 1e-3)
    run /= 1.0 + water.get("sulphate", 0.0) / 100.0
    yield "days between", "min", run / here.daily, 2.0


def _nitrate(request, stage, water, here):
    litres = stage.product.ratings["media_l"]
    load = water.get("sulphate", 0.0) / 48.03 + water["nitrate"] / 14.007 + 0.3 * water.get("alkalinity", 0.0) / 50.04
    yield "days between", "min", litres * 0.3 * 1000.0 / max(load, 1e-6) * 0.75 / here.daily, 1.0
    yield "flow per litre", "max", here.flow, 4.0 * r.GAL * litres / r.FT3
    yield "sulphate to nitrate", "max", water.get("sulphate", 0.0) / max(water["nitrate"] * 4.4268, 1e-3), 6.0


def _airox(request, stage, water, here):
    kelvin = _clip(here) + 273.15
    pressure = request.supply.cut_in_kpa + 101.325
    oxygen = pressure * stage.product.ratings["air_head_l"] / (8.314 * kelvin) * 0.2095 * 32.0 * 1000.0
    iron, manganese, sulphide = (water.get(code, 0.0) for code in ("iron", "manganese", "sulphide"))
    demand = 0.143 * iron + 0.291 * manganese + 0.499 * sulphide  # sulphide as S, to sulphur (computed)
    yield "days between", "min", oxygen / (demand + 8.0) / here.daily, 1.0


def _permanganate(request, stage, water, here):
    rule = (
        water.get("iron", 0.0) + 2.0 * water.get("manganese", 0.0) + 5.0 * water.get("sulphide", 0.0) * 34.08 / 32.06
    )
    run = 10_000.0 * r.GAL * stage.product.ratings["media_l"] / r.FT3 / max(rule, 1e-3)
    yield "days between", "min", run / here.daily, 1.0


def _catalytic(request, stage, water, here):
    yield "oxygen to iron", "min", water.get("dissolved_oxygen", 0.0), 0.15 * water.get("iron", 0.0)


def _neutraliser(request, stage, water, here):
    # 3 gpm/ft2 for design; 6 is the trade's hard stop (CP): only the stop is a constraint.
    yield "surface rate", "max", here.peak, 6.0 * r.GAL * _area_m2(stage.product.ratings) / r.FT2


def _carbon(request, stage, water, here):
    ratings = stage.product.ratings
    if ratings["form"] != "tank":
        return
    organics = any(code in stage.product.certified_for and water.get(code, 0.0) > 0 for code in ("voc", "pfas"))
    contact = ratings["media_l"] / max(here.peak, 1e-3)
    yield "contact", "min", contact, 3.0 if organics else 1.0  # P: 10 NYCRR App. 75-B.2; chlorine M
    if organics:
        yield "surface rate", "max", here.peak, 10.0 * r.GAL * _area_m2(ratings) / r.FT2


def _soda_ash(request, stage, water, here):
    if "alkalinity" in water and water["ph"] < 7.5:
        fed = setting(stage, "Feed") * setting(stage, "Solution") * 1000.0 / here.daily
        yield "dose", "max", fed, r.SODA_ASH_MOST


def _retention(request, stage, water, here):
    yield "detention", "min", stage.product.ratings["volume_l"] / max(here.peak, 1e-3), 20.0


def _chlorine(request, stage, water, here):
    ratings = stage.product.ratings
    iron = water.get("iron_dissolved", water.get("iron", 0.0))
    dose = 0.635 * iron + 1.291 * water.get("manganese", 0.0) + 8.85 * water.get("sulphide", 0.0)
    dose += 7.6 * water.get("ammonia", 0.0) + ratings["residual"]
    yield "feed", "max", here.pump * dose / ratings["solution_g_l"], ratings["feed_ml_min"]


def _membrane(request, stage, water, here):
    ratings = stage.product.ratings
    feed = (
        max(request.supply.cut_in_kpa - 9.80665 * request.supply.worst_fixture_height_m, 1.0) + ratings["boost_kpa"]
    )
    shut = feed / 1.5
    tank = (min(7.0 * r.PSI, shut) + shut) / 2.0
    tds = water.get("tds", water["conductivity"] * 0.6 if "conductivity" in water else 500.0)
    osmotic = 0.01 * r.PSI * (1.0 + 1.0 / (1.0 - ratings["recovery"])) / 2.0
    drive = max(feed - tank - osmotic * tds, 0.0) / (ratings["rated_kpa"] - osmotic * 250.0)
    celsius = min(max(here.temperature, 1.0), 45.0)
    cold = math.exp((3020.0 if celsius < 25.0 else 2640.0) * (1 / 298.0 - 1 / (273.0 + celsius)))
    yield "output", "min", ratings["rated_l_d"] * drive * cold * 1.03, 4.0 * request.occupancy.people_usual


_BY_KIND = {
    K.SOFTENER: _softener, K.ORGANICS: _organics, K.NITRATE: _nitrate, K.AIROX: _airox, K.CATALYTIC: _catalytic,
    K.PERMANGANATE: _permanganate, K.NEUTRALISER: _neutraliser, K.CARBON: _carbon, K.RETENTION: _retention,
    K.SODA_ASH: _soda_ash, K.CHLORINE: _chlorine, K.RO: _membrane,
}  # fmt: skip
