"""The water behind each kind of stage, reckoned a second time from the trade's table of effects.

Fractions removed are those of the table ("typical"; "low" for health contaminants and where a UV or a membrane
stands on it). Three formulas are not written again, because they are published chemistry with outside checks of their
own: ``neutraliser.neutralise`` (calcite to equilibrium, beside PHREEQC), ``neutraliser.dose_to_ph`` (soda ash), and
``media.temperature_factor`` (cold backwash; used by the inspector).
"""

from dataclasses import dataclass

import numpy as np

from sizing.engine import neutraliser
from sizing.engine.design import PlacedStage, StageKind
from sizing.engine.water import Water

from . import restated as r

K = StageKind
MICROBES = ("total_coliform", "e_coli", "iron_bacteria")
# Share a household membrane holds back: salts typical, health contaminants the low field value (CP, in part M).
SALTS = {
    "tds": 0.93, "sodium": 0.92, "potassium": 0.92, "calcium": 0.96, "magnesium": 0.96, "hardness": 0.96,
    "alkalinity": 0.93, "chloride": 0.94, "sulphate": 0.97, "silica": 0.85, "ammonia": 0.80, "conductivity": 0.93,
}  # fmt: skip
HELD_LOW = {"nitrate": 0.70, "nitrite": 0.70, "fluoride": 0.85, "boron": 0.40, "arsenic": 0.2}
HELD_METALS = 0.85
LEAK = ((4.0, 3.0), (6.0, 2.0), (8.0, 1.0), (15.0, 0.5))  # lb/ft3, gpg left (M)


@dataclass(frozen=True)
class Here:
    """What one unit sees: L/min at most, at peak and from the pump; litres a day; degC."""

    flow: float
    peak: float
    daily: float
    pump: float
    temperature: float


def setting(stage: PlacedStage, name: str) -> float:
    """A set-up value of the stage by name."""
    return float(next(s.value for s in stage.settings if s.name == name))


def less(water: dict, **removed: float) -> dict:
    """The water with fractions removed; what was not measured stays unknown."""
    return water | {code: water[code] * (1.0 - share) for code, share in removed.items() if code in water}


def rust_held(water: dict, share: float) -> dict:
    """Iron that is rust held back by a share; dissolved iron passes. Unknown where only total iron was measured."""
    if "iron" not in water or "iron_dissolved" not in water:
        return water
    return water | {"iron": water["iron_dissolved"] + (water["iron"] - water["iron_dissolved"]) * (1.0 - share)}


def behind(stage: PlacedStage, water: dict, here: Here) -> dict:
    """The water leaving a stage."""
    after = _BY_KIND.get(stage.kind, _same)(stage, dict(water), here)
    for code in r.CERTIFIED:
        if code in water and after[code] < water[code] and code not in stage.product.certified_for:
            raise AssertionError(f"the inspector lets {stage.kind} lower {code} without a claim")
    return after


def _same(stage, water, here):
    return water


def _sediment(stage, water, here):
    fine = stage.product.ratings["micron"] <= 5.0
    share = 0.85 if fine else 0.8
    return rust_held(less(water, turbidity=share, suspended_solids=share), 0.85 if fine else 0.5)


def _bed(stage, water, here):
    return rust_held(less(water, turbidity=0.8, suspended_solids=0.8), 0.8)


def _fibres(stage, water, here):
    return rust_held(less(water, turbidity=0.99, suspended_solids=0.99), 0.99)


def _with_temperature(water, here):
    return Water({**water, "temperature": min(max(water.get("temperature", here.temperature), 0.1), 49.0)})


def _known_acid(water):
    return {"ph", "alkalinity"} <= set(water) and ("hardness" in water or "calcium" in water)


def _calcite(stage, water, here):
    if not _known_acid(water):
        return water
    made = neutraliser.neutralise(_with_temperature(water, here)).water
    codes = ("ph", "alkalinity", "hardness", "calcium", "tds", "carbon_dioxide")
    return water | {code: float(made[code]) for code in codes if code in water}


def _soda_ash(stage, water, here):
    if not _known_acid(water) or water["ph"] >= 7.5:
        return water
    dose = float(neutraliser.dose_to_ph(_with_temperature(water, here), 7.5, "soda_ash"))
    found = {"ph": 7.5, "alkalinity": water["alkalinity"] + dose * 100.09 / 105.99}
    if "sodium" in water:
        found["sodium"] = water["sodium"] + dose * 2 * 22.99 / 105.99
    return less(water, carbon_dioxide=0.9) | found


def _iron_filter(stage, water, here):
    manganese = 0.8 if water.get("ph", 0.0) >= 7.5 else 0.5
    after = less(water, iron=0.95, iron_dissolved=0.95, manganese=manganese, sulphide=0.8)
    if "alkalinity" in water:  # 2 H+ for each Fe and each Mn: 1.79 and 1.82 mg CaCO3 per mg (computed)
        used = 1.792 * water.get("iron", 0.0) * 0.95 + 1.822 * water.get("manganese", 0.0) * manganese
        after["alkalinity"] = max(water["alkalinity"] - used, 0.0)
    if "ph" in water:
        after["ph"] = water["ph"] - 0.1
    if stage.kind is K.AIROX and "dissolved_oxygen" in water:
        full = 14.6 - 0.39 * here.temperature + 0.0064 * here.temperature**2  # saturation at sea level, within 0.2
        after["dissolved_oxygen"] = max(water["dissolved_oxygen"], full)
    return after


def _softener(stage, water, here):
    if "hardness" not in water:
        return water
    dose = setting(stage, "Salt dose") / r.LB / (stage.product.ratings["media_l"] / r.FT3)
    band = float(np.interp(dose, [row[0] for row in LEAK], [row[1] for row in LEAK])) * r.GPG
    left = min(water["hardness"], max(band, 0.01 * water["hardness"]))
    share = 1.0 - left / max(water["hardness"], 1e-9)
    gone = 0.9 * water.get("iron_dissolved", water.get("iron", 0.0))
    claims = {code: 0.8 for code in ("barium", "radium") if code in stage.product.certified_for}
    after = less(water, hardness=share, calcium=share, magnesium=share, manganese=0.85, **claims)
    if "sodium" in water:
        after["sodium"] = water["sodium"] + 0.4594 * (water["hardness"] - left)
    return after | {code: water[code] - gone for code in ("iron", "iron_dissolved") if code in water}


def _organics(stage, water, here):
    after = less(water, tannin=0.9, colour=0.9, toc=0.7, sulphate=0.9, alkalinity=0.3)
    if "ph" in water:
        after["ph"] = water["ph"] - 0.3
    if "uvt" in water:  # absorbance falls by the low removal, and by no more than the usual 15 points
        after["uvt"] = min(100.0 * (water["uvt"] / 100.0) ** 0.3, water["uvt"] + 15.0, 100.0)
    return after


def _nitrate(stage, water, here):
    share = 0.8 if "nitrate" in stage.product.certified_for else 0.0
    after = less(water, nitrate=share, sulphate=0.9, alkalinity=0.3)
    return after | ({"ph": water["ph"] - 0.3} if "ph" in water else {})


def _carbon(stage, water, here):
    tank = stage.product.ratings["form"] == "tank"
    claims = {code: low for code, low in (("voc", 0.7), ("pfas", 0.5)) if code in stage.product.certified_for}
    sulphide = 0.6 if tank and stage.product.ratings["medium"] == "catalytic_carbon" else 0.3
    return less(water, free_chlorine=0.98 if tank else 0.95, sulphide=sulphide, **claims)


def _tap_carbon(stage, water, here):
    health = (*r.CERTIFIED, "voc", "barium", "cadmium", "chromium", "mercury", "antimony", "selenium", "copper")
    claims = {code: 0.5 for code in health if code in stage.product.certified_for}
    return less(water, free_chlorine=0.95, **claims)


def _chlorine(stage, water, here):
    after = less(water, sulphide=0.99) | {"free_chlorine": float(stage.product.ratings["residual"])}
    if "alkalinity" in water:  # 3 H+ for each Fe oxidised by chlorine: 2.7 mg CaCO3 per mg (computed)
        after["alkalinity"] = max(
            water["alkalinity"] - 2.69 * water.get("iron_dissolved", water.get("iron", 0.0)), 0.0
        )
    return after


def virus_logs_of_contact(stage: PlacedStage, water: dict, here: Here) -> float:
    """Logs of virus a contact tank earns: 4 x CT / CT required, T = volume / peak x baffling; never above 4."""
    ratings, chlorine = stage.product.ratings, water.get("free_chlorine", 0.0)
    if "ph" not in water or not 6.0 <= water["ph"] <= 9.0:
        return 0.0
    at = max((t for t, _ in r.VIRUS_CT if t <= here.temperature), default=0.5)
    needed = dict(r.VIRUS_CT)[at]
    minutes = ratings["volume_l"] / max(here.peak, 1e-3) * ratings["baffling"]
    return min(4.0 * min(chlorine, 3.0) * minutes / needed, 4.0)


def giardia_logs_of_contact(stage: PlacedStage, water: dict, here: Here) -> float:
    """Logs of Giardia a contact tank earns, by the regression printed in EPA 815-R-20-003.

    CT = 0.361 logs (-2.261 + e^(2.69 - 0.065 T + 0.111 C + 0.361 pH)) from 12.5 degC, below it
    CT = 0.353 logs (12.006 + e^(2.46 - 0.073 T + 0.125 C + 0.389 pH)).
    """
    chlorine, ph = min(water.get("free_chlorine", 0.0), 3.0), water.get("ph")
    if ph is None or not 6.0 <= ph <= 9.0 or chlorine <= 0:
        return 0.0
    ratings, cold = stage.product.ratings, here.temperature
    if cold < 12.5:
        each = 0.353 * (12.006 + np.exp(2.46 - 0.073 * cold + 0.125 * chlorine + 0.389 * ph))
    else:
        each = 0.361 * (-2.261 + np.exp(2.69 - 0.065 * cold + 0.111 * chlorine + 0.361 * ph))
    minutes = ratings["volume_l"] / max(here.peak, 1e-3) * ratings["baffling"]
    return float(chlorine * minutes / each)


def _contact(stage, water, here):
    after = dict(water)
    if virus_logs_of_contact(stage, water, here) >= 4.0:
        after |= {code: 0.0 for code in MICROBES if code in water}
    dissolved = water.get("iron_dissolved", water.get("iron"))
    if dissolved is not None and water.get("free_chlorine", 0.0) >= 0.2:
        after["iron_dissolved"] = dissolved * 0.02
    return after


def uv_dose(stage: PlacedStage, water: dict, flow: float) -> float:
    """Dose that may be claimed at a flow, mJ/cm2: rated dose x rated flow / flow, never above the rated one, none
    in water darker than the unit was rated in (only the certified point counts)."""
    ratings = stage.product.ratings
    if water.get("uvt", 0.0) < ratings["rated_uvt"]:
        return 0.0
    return min(ratings["rated_dose"] * ratings["rated_flow_l_min"] / max(flow, 1e-6), ratings["rated_dose"])


def logs_of_dose(dose: float, organism: str) -> float:
    """The highest step whose dose is reached; no interpolation."""
    return max((step for step, need in zip(r.STEPS, r.UV_DOSE[organism], strict=True) if dose >= need), default=0.0)


def _uv(stage, water, here):
    if stage.product.ratings["uv_class"] != "A" or uv_dose(stage, water, here.flow) < r.CLASS_A:
        return water
    left = {code: water[code] * 1e-4 for code in MICROBES if code in water}
    return water | {code: value if value >= 0.5 else 0.0 for code, value in left.items()}


def _membrane(stage, water, here):
    recovery = stage.product.ratings["recovery"]
    held = dict(SALTS)
    for code in stage.product.certified_for:
        held[code] = HELD_LOW.get(code, HELD_METALS)
    thicker = (1.0 + 1.0 / (1.0 - recovery)) / 2.0  # the mean of the feed side
    after = water | {c: water[c] * min((1.0 - share) * thicker, 1.0) for c, share in held.items() if c in water}
    return after | ({"ph": water["ph"] - 1.0} if "ph" in water else {})


_BY_KIND = {
    K.SEDIMENT: _sediment, K.BACKWASH: _bed, K.ULTRAFILTER: _fibres, K.NEUTRALISER: _calcite, K.SODA_ASH: _soda_ash,
    K.AIROX: _iron_filter, K.CATALYTIC: _iron_filter, K.PERMANGANATE: _iron_filter, K.SOFTENER: _softener,
    K.ORGANICS: _organics, K.NITRATE: _nitrate, K.CARBON: _carbon, K.TAP_CARBON: _tap_carbon, K.CHLORINE: _chlorine,
    K.RETENTION: _contact, K.UV: _uv, K.RO: _membrane,
}  # fmt: skip
