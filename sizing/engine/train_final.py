"""What is wrong with a line as a whole: goals, and the barrier against germs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sizing.engine.design import StageKind
from sizing.engine.log_credits import GERM_WORDS, ORGANISMS
from sizing.engine.stages.practice_figures import practice
from sizing.engine.train_duty import Brief
from sizing.engine.train_partial import CONTACT, PARTICLES, Path
from sizing.engine.train_spot import Fault, name_of, unit_of
from sizing.engine.train_step import CERTIFIED_ONLY
from sizing.engine.water import Water

SLACK = 1e-9
EARNS = {
    "cryptosporidium": "a class A UV, or a filter of 1 um absolute",
    "giardia": "a class A UV, or a filter of 1 um absolute",
    "virus": "chlorine with a contact tank large enough",
}


def final_faults(brief: Brief, path: Path) -> Iterator[Fault]:
    """Goals and barrier not met by a line as it stands.

    Units: stated in each fault.
    Range: any path.
    Raises: nothing.
    Source: the request's goals and the rule on germs.

    >>> final_faults.__name__
    'final_faults'
    """
    goals, entry = brief.request.goals, path.entry
    if path.dose < brief.barrier_dose - SLACK:
        text = f"{brief.barrier_reason}: {brief.barrier_dose:g} mJ/cm2 are wanted, the line gives {path.dose:.3g}"
        remedy = f"a class A UV of {brief.barrier_dose:g} mJ/cm2 at {path.flow:.3g} L/min"
        yield Fault("barrier", "barrier against germs", text, remedy, path.dose, brief.barrier_dose)
    for organism, wanted, earned in zip(ORGANISMS, brief.logs, path.logs, strict=True):
        if earned < wanted - SLACK:
            germs = GERM_WORDS[organism]
            text = f"{brief.barrier_reason}: {wanted:g} log of {germs} are wanted, the line earns {earned:.2g}"
            yield Fault(f"logs:{organism}", f"log credit against {germs}", text, EARNS[organism], earned, wanted)
    yield from _owed_faults(path)
    if path.static > practice("plumbing_most") + SLACK:
        yield static_fault("the plumbing", path.static, practice("plumbing_most"))
    if brief.dew_resistance > 0 and StageKind.JACKET not in path.used:
        site = brief.request.site
        text = (
            f"in air of {site.room_c:g} degC and {site.room_humidity:g} % the tank, its water at "
            f"{brief.duty.temperature_c:g} degC, sweats without a jacket"
        )
        yield Fault("sweat", "dry tank", text, "a jacket thick enough for the room's air, or drier air")
    if brief.held_by and StageKind.RESTRICTOR not in path.used:
        yield Fault("peak", "flow at peak", "the restrictor asked for is not in the line", "the restrictor")
    for where, water, limits in judged_waters(brief, path):
        for code in sorted(limits):
            if code in water and water[code] > limits[code]:
                yield _goal_fault(code, where, float(water[code]), limits[code], "at most")
    if "ph" in entry:
        if goals.ph_low is not None and entry["ph"] < goals.ph_low:
            yield _goal_fault("ph", "entry", float(entry["ph"]), goals.ph_low, "at least")
        if goals.ph_high is not None and entry["ph"] > goals.ph_high:
            yield _goal_fault("ph", "entry", float(entry["ph"]), goals.ph_high, "at most")


def _owed_faults(path: Path) -> Iterator[Fault]:
    """Chlorine that has no time to work in, or leaves rust and sulphur in the water."""
    if path.owes & CONTACT:
        text = "chlorine is fed, and no contact tank behind it gives it its time"
        yield Fault("contact", "contact behind the chlorine", text, "a contact tank behind the chlorine feed")
    if path.owes & PARTICLES:
        text = "what chlorine turns solid (sulphur, rust, manganese) is held back by no filter behind its contact"
        remedy = "a filter or a carbon bed behind the contact tank"
        yield Fault("particles", "filter behind the chlorine", text, remedy)


def judged_waters(brief: Brief, path: Path) -> Iterator[tuple[str, Water, Mapping[str, float]]]:
    """Each place where goals are judged, its water and its goals: the entry, the hot line where only that is
    softened, the drinking tap.

    Units: canonical.
    Range: any path.
    Raises: nothing.
    Source: the request's goals.

    >>> judged_waters.__name__
    'judged_waters'
    """
    goals = brief.request.goals
    entry, hot = split_goals(goals.at_entry, hot=brief.hot is not None)
    yield "entry", path.entry, entry
    if hot:
        yield "hot", path.hot_water, hot
    yield "tap", path.water, goals.at_tap


def split_goals(entry: Mapping[str, float], *, hot: bool) -> tuple[Mapping[str, float], Mapping[str, float]]:
    """The goals at the entry and those on the hot line: hardness moves there where only hot water is softened.

    Units: none.
    Range: any goals.
    Raises: nothing.
    Source: the request.

    >>> split_goals({"iron": 0.3, "hardness": 60.0}, hot=True)
    ({'iron': 0.3}, {'hardness': 60.0})
    """
    if not hot or "hardness" not in entry:
        return entry, {}
    return {code: value for code, value in entry.items() if code != "hardness"}, {"hardness": entry["hardness"]}


PLACES = {"entry": "at the entry", "hot": "in the hot water", "tap": "at the drinking tap"}


def static_fault(what: str, static_kpa: float, most_kpa: float) -> Fault:
    """That more pressure stands on something at no flow than it bears.

    Units: kPa.
    Range: any.
    Raises: nothing.
    Source: comparison.

    >>> static_fault("the plumbing", 620.0, 551.6).text
    'at no flow 620 kPa stand on the plumbing, which bears 552 kPa'
    """
    text = f"at no flow {static_kpa:.0f} kPa stand on {what}, which bears {most_kpa:.0f} kPa"
    remedy = f"a reducing valve set to {most_kpa:.0f} kPa or less, or a lower cut-out"
    return Fault("static", "pressure at no flow", text, remedy, static_kpa, most_kpa)


def _goal_fault(code: str, where: str, value: float, limit: float, word: str) -> Fault:
    name, unit = name_of(code), unit_of(code)
    place = PLACES[where]
    if code in CERTIFIED_ONLY:
        remedy = f"a stage with a certified claim for {name}"
    else:
        remedy = f"a goal of {word} {value:.3g}{unit} for {name} {place}, or a stage that treats it"
    text = f"{name} {place} {value:.3g}{unit}, {word} {limit:.3g}{unit} is wanted"
    return Fault(f"goal:{code}:{where}", f"{name} {place}", text, remedy, value, limit)
