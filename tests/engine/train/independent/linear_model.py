"""The choice of a train as a linear program in whole numbers, for the plain stages of ``fakes``.

Fractions removed multiply, so their logarithms add: every limit becomes a sum of chosen products' logs. Solved by
OR-Tools CP-SAT. Nothing here is the search's own: costs, flows, order and limits are written out again from the
recipes and the request.
"""

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from ortools.sat.python import cp_model

from sizing.engine.design import DesignRequest, StageKind

from .restated import CERTIFIED, SURFACE
from .restated import INFLUENCED as PRESUMED

K = StageKind
SCALE = 10_000_000  # steps to a natural logarithm
# The order of the trade on the main line, the tap last. Carbon may stand ahead of the softener or behind the resins.
PLACES = (
    "bed",
    "coarse",
    "iron",
    "carbon first",
    "softener",
    "organics",
    "carbon",
    "fine",
    "restrictor",
    "uv",
    "tap",
)
OF_KIND = {
    K.BACKWASH: ("bed",), K.AIROX: ("iron",), K.CARBON: ("carbon first", "carbon"), K.SOFTENER: ("softener",),
    K.ORGANICS: ("organics",), K.RESTRICTOR: ("restrictor",), K.UV: ("uv",), K.RO: ("tap",),
}  # fmt: skip
PAIRED = (K.BACKWASH, K.AIROX)


@dataclass(frozen=True)
class Choice:
    """One product (or two side by side) in one place, with what it costs: cents, cents, millionths of an hour."""

    recipe: object
    place: int
    count: int
    first: int
    life: int
    hours: int


def _cents(amount: float) -> int:
    return int(Decimal(repr(amount)).quantize(Decimal("0.01"), ROUND_HALF_UP) * 100)


def _choice(request: DesignRequest, recipe, place: int, count: int) -> Choice:
    terms, months = request.cost, recipe.months
    rate, years = terms.discount_rate, terms.years
    factor = (1.0 - (1.0 + rate) ** -years) / rate
    first = _cents((recipe.price + float(terms.labour_per_hour)) * count)
    bought, year = 0.0, months / 12.0
    renewal = year
    while renewal < years - 1e-9:  # at the end of each life, none at the end of the years counted
        bought += count * recipe.part_price * (1.0 + rate) ** -renewal
        renewal += year
    salt = recipe.salt_per * request.water.get("hardness", 0.0) * count
    hours = (recipe.minutes / 60.0 * 12.0 / months + salt / count / 1000.0) * count
    kept = _cents(hours * float(terms.labour_per_hour) * factor)
    life = first + _cents(bought) + _cents(salt * float(terms.salt_per_kg) * factor) + kept
    return Choice(recipe, place, count, first, life, round(hours * 1e6))


def choices(request: DesignRequest, recipes) -> list[Choice]:
    """Every product in every place it may take, beds also in pairs."""
    found = []
    for recipe in recipes:
        places = OF_KIND.get(recipe.kind, ("fine" if recipe.fine else "coarse",))
        for place in places:
            for count in (1, 2) if recipe.kind in PAIRED else (1,):
                found.append(_choice(request, recipe, PLACES.index(place), count))
    return found


def _log(recipe, analyte: str) -> int | None:
    """What a product does to the logarithm of an analyte; health contaminants only by a certified claim."""
    if analyte in CERTIFIED and analyte not in recipe.certified:
        return None
    share = dict(recipe.removes).get(analyte)
    return None if share is None else round(math.log(1.0 - share) * SCALE)


def _room(value: float, limit: float) -> int:
    """What the logarithms removed must come to at most, so that a value keeps an upper limit."""
    return math.floor(math.log(limit / value) * SCALE) + 10


def best(request: DesignRequest, recipes, peak: float, budget_kpa: float) -> dict[str, int] | None:
    """The least first and whole-life cost (cents) and upkeep (millionths of an hour); ``None`` where none passes."""
    found = {}
    for aim in ("first", "life", "hours"):
        value = _solve(request, choices(request, recipes), peak, budget_kpa, aim)
        if value is None:
            return None
        found[aim] = value
    return found


def _solve(request: DesignRequest, options: list[Choice], peak: float, budget_kpa: float, aim: str) -> int | None:
    model = cp_model.CpModel()
    taken = [model.new_bool_var(str(i)) for i in range(len(options))]
    for place in range(len(PLACES)):
        model.add_at_most_one(taken[i] for i, o in enumerate(options) if o.place == place)
    model.add_at_most_one(taken[i] for i, o in enumerate(options) if o.recipe.kind is K.CARBON)
    _limits(model, request, options, taken)
    _flows(model, request, options, taken, peak)
    _germs(model, request, options, taken)
    _site(model, request, options, taken, budget_kpa)
    total = sum(getattr(o, aim) * x for o, x in zip(options, taken, strict=True))
    if aim == "life":  # the yearly call-outs, once, where anything stands at all
        terms, months = request.cost, len(request.occupancy.months_open)
        factor = (1.0 - (1.0 + terms.discount_rate) ** -terms.years) / terms.discount_rate
        some = model.new_bool_var("some")
        for variable in taken:
            model.add_implication(variable, some)
        total += _cents((1.0 if months == 12 else 2.0) * float(terms.visit) * factor) * some
    model.minimize(total)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL
    return round(solver.objective_value)


def _ahead(options, taken, place: int, analyte: str):
    """Sum of the logs of an analyte taken out ahead of a place."""
    rows = ((_log(o.recipe, analyte), x) for o, x in zip(options, taken, strict=True) if o.place < place)
    return sum(log * x for log, x in rows if log is not None)


def _limits(model, request, options, taken) -> None:
    goals, raw, tap = request.goals, request.water, PLACES.index("tap")
    for place, wanted in ((tap, goals.at_entry), (tap + 1, goals.at_tap)):
        for analyte, limit in wanted.items():
            if analyte in raw:
                model.add(_ahead(options, taken, place, analyte) <= _room(raw[analyte], limit))
    for option, variable in zip(options, taken, strict=True):
        for analyte, sense, limit, required in option.recipe.limits:
            if analyte not in raw:
                if required:
                    model.add(variable == 0)
                continue
            left = _ahead(options, taken, option.place, analyte)
            if sense == "max":
                model.add(left <= _room(raw[analyte], limit)).only_enforce_if(variable)
            else:
                model.add(left >= _room(raw[analyte], limit) - 20).only_enforce_if(variable)


def _flows(model, request, options, taken, peak: float) -> None:
    """The pump flat out through every stage; behind a restrictor what it holds, which may not be below the peak."""
    pump, behind = request.supply.pump_flow_l_min.value, PLACES.index("restrictor")
    held = [(o, x) for o, x in zip(options, taken, strict=True) if o.recipe.kind is K.RESTRICTOR]
    for option, variable in held:
        if option.recipe.rated < peak:
            model.add(variable == 0)
    for option, variable in zip(options, taken, strict=True):
        recipe = option.recipe
        if recipe.kind is K.RESTRICTOR or pump / option.count <= recipe.rated:
            continue
        calm = [x for o, x in held if o.recipe.rated <= recipe.rated]
        if PLACES[option.place] == "uv" and option.place > behind:
            model.add_bool_or([*calm, variable.negated()])
        else:
            model.add(variable == 0)


def _germs(model, request, options, taken) -> None:
    """A barrier where germs were found or are to be presumed; a fine filter ahead of every lamp, for cysts on surface
    water."""
    found = any(request.water.get(code, 0.0) > 0 for code in ("total_coliform", "e_coli"))
    lamps = [(o, x) for o, x in zip(options, taken, strict=True) if o.recipe.kind is K.UV]
    if found or request.source in SURFACE | PRESUMED:
        model.add_bool_or([x for o, x in lamps if o.recipe.dose >= 40.0])
    for option, variable in zip(options, taken, strict=True):
        if option.recipe.dose and option.recipe.dose < 40.0:
            model.add(variable == 0)
    fine = [
        x
        for o, x in zip(options, taken, strict=True)
        if o.recipe.kind is K.SEDIMENT
        and o.recipe.fine
        and (o.recipe.cyst or request.source not in SURFACE | PRESUMED)
    ]
    for _, variable in lamps:
        model.add_bool_or([*fine, variable.negated()])


def _site(model, request, options, taken, budget_kpa: float) -> None:
    site, supply = request.site, request.supply
    pump = supply.pump_flow_l_min.value
    main = [(o, x) for o, x in zip(options, taken, strict=True) if PLACES[o.place] != "tap"]
    model.add(sum(round(o.recipe.loss_kpa * 2000) * x for o, x in main) <= math.floor(budget_kpa * 1000))
    if site.wall_m is not None:
        model.add(sum(round(o.recipe.wall * o.count * 1000) * x for o, x in main) <= round(site.wall_m * 1000))
    if site.power_w is not None:
        watts = sum(round(o.recipe.power_w * o.count * 10) * x for o, x in zip(options, taken, strict=True))
        model.add(watts <= round(site.power_w * 10))
    for option, variable in zip(options, taken, strict=True):
        recipe, tap = option.recipe, PLACES[option.place] == "tap"
        never = recipe.backwash > pump
        never |= recipe.drain and not site.drain and not tap
        never |= recipe.power_w > 0 and site.power != "mains"
        never |= not site.winter_heated and not recipe.drainable
        if never:
            model.add(variable == 0)
