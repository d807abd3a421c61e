"""The caller's questions, one group a step: what is asked where, in which order, and what was answered."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.enquiries.facts import FACTS
from customers.enquiries.forms import LETTERS, field_name
from customers.enquiries.models import AnswerKind
from customers.households.models import Source
from sizing.diagnoses.reasoning import Reasoned, to_look_at
from sizing.drawing.pictures import picture
from sizing.engine.diagnosis import Interlock

L = gettext_lazy
SIZE = 56
MOST_FOLLOWING, MOST_TRIED = 4, 3
#: The area of an unknown device, what anybody sees on one at a glance, and the effort up to which a caller is asked:
#: to look from outside, never to open or to test.
DEVICE, LOOKED, OUTSIDE = "device", ("closer", "still"), 3.0
AT_A_GLANCE = (
    *("tall_tank", "two_tanks", "one_cabinet", "salt", "control_head", "plain_head", "clear_housing"),
    *("steel_cylinder", "solution_tub", "plain_tank", "ball_tank", "sink_tap", "motor", "mesh_valve"),
    *("gas_or_breaker", "clamped_on", "purple"),
)
#: Groups asked about only where the caller says that it concerns them, with the picture of each.
AREAS: Mapping[str, tuple[Any, str]] = {
    "colour": (L("Its colour, or stains it leaves"), "tea_clear"),
    "smell": (L("Its smell"), "smell"),
    "taste": (L("Its taste, or how it feels"), "taste"),
    "solids": (L("It is cloudy, gritty or slimy, or leaves a crust"), "cloudy_stays"),
    "flow": (L("Pressure or flow"), "low_pressure_all"),
    "equipment": (L("A softener, filter or drinking-water unit"), "softener"),
    DEVICE: (L("A thing nobody can name: a tank, a box, a tube on the pipe"), "tall_tank"),
}
HEADINGS: Mapping[str, tuple[Any, Any]] = {
    "you": (L("Who you are"), L("So that we can ring you back.")),
    "water": (L("Where the water comes from"), ""),
    "people": (L("Who drinks it"), L("Some people are harmed sooner than others; we ask that first.")),
    "first": (L("Before anything else"), L("Tick what you notice. If nothing of this applies, go on.")),
    "about": (L("What is it about?"), L("Tick all that concern you.")),
    "colour": (L("Colour and stains"), L("Tick what you see.")),
    "smell": (L("Smell"), L("Tick what you smell.")),
    "taste": (L("Taste and feel"), L("Tick what you notice. Do not taste it to find out.")),
    "solids": (L("Cloudy, gritty, slimy"), L("Tick what you see.")),
    "flow": (L("Pressure and flow"), L("Tick what you notice.")),
    "equipment": (L("Equipment"), L("Tick what you notice.")),
    DEVICE: (
        L("The thing nobody can name"),
        L("Tick what you see. Only look: open nothing, unplug nothing. It may hold pressure, current or chemicals."),
    ),
    "closer": (L("Look once more"), L("From outside only. “Don't know” is an answer too.")),
    "still": (L("A last look"), L("These tell it from what looks like it. From outside only.")),
    "more": (L("A little closer"), L("These tell us most. “Don't know” is an answer too.")),
    "next": (L("And last"), L("These tell apart what is left.")),
    "try": (L("Things to try at home"), L("If you can. You may come back to this page for it.")),
    "photos": (
        L("Photographs"),
        L("A glass of the water before white paper; a stain; equipment, with its label."),
    ),
    "words": (L("In your own words"), L("When it began, what you have tried, anything we have not asked.")),
    "send": (L("Send it"), ""),
}


@dataclass(frozen=True)
class Question:
    """One question. ``form``: "tick" for a box, "three" for yes, no, don't know."""

    kind: str
    code: str
    ask: str
    picture: str
    form: str
    answer: str = ""
    hint: str = ""

    @property
    def name(self) -> str:
        """The field of its answer."""
        return field_name(self.kind, self.code)

    @property
    def box(self) -> str:
        """What stands for it in ``shown``."""
        return f"{LETTERS[self.kind]}-{self.code}"


@dataclass
class Plan:
    """The steps of one caller: those that concern them, in order. Kept in the session are only areas and the
    follow-up questions already shown, so that going back shows the same ones."""

    about: list[str] = field(default_factory=list)
    following: dict[str, list[str]] = field(default_factory=dict)

    def slugs(self) -> list[str]:
        """Every step, in order."""
        areas = [area for area in AREAS if area in self.about]
        looked = LOOKED if DEVICE in areas else ()
        water = () if areas == [DEVICE] else ("more", "next", "try")
        return ["you", "water", "people", "first", "about", *areas, *looked, *water, "photos", "words", "send"]

    def beside(self, slug: str) -> tuple[str, str]:
        """The step before and the step after; "" at either end."""
        slugs = self.slugs()
        at = slugs.index(slug)
        return slugs[at - 1] if at else "", slugs[at + 1] if at + 1 < len(slugs) else ""


def _observation(reasoned: Reasoned, code: str, form: str) -> Question | None:
    one = reasoned.tables.observations.get(code)
    if one is None:
        return None
    drawn = picture(code, SIZE) or picture(one.picture, SIZE)
    answer = reasoned.answers.observations.get(code, "")
    return Question(AnswerKind.OBSERVATION, code, _(one.ask), drawn, form, answer)


def complaints(reasoned: Reasoned, group: str) -> list[Question]:
    """The complaints of a group, as boxes."""
    codes = [code for code, one in reasoned.tables.observations.items() if one.complaint and one.group == group]
    return _asked(reasoned, codes, "tick")


def _asked(reasoned: Reasoned, codes: Iterable[str], form: str) -> list[Question]:
    found = (_observation(reasoned, code, form) for code in codes)
    return [question for question in found if question is not None]


def features(reasoned: Reasoned, codes: Iterable[str], form: str) -> list[Question]:
    """Questions about an unknown device, those of the dealer's tables alone."""
    known, told = reasoned.tables.features, reasoned.answers.features()
    return [
        Question(
            AnswerKind.FEATURE,
            code,
            _(known[code].ask if form == "three" else known[code].words),
            picture(known[code].picture, SIZE),
            form,
            told.get(code, ""),
        )
        for code in codes
        if code in known
    ]


def facts(reasoned: Reasoned, codes: Sequence[str]) -> list[Question]:
    """Questions about people and place."""
    answers = reasoned.answers.facts
    return [
        Question(
            AnswerKind.FACT,
            code,
            str(FACTS[code].ask),
            picture(FACTS[code].picture, SIZE),
            "three",
            answers.get(code, ""),
            str(FACTS[code].hint),
        )
        for code in codes
    ]


def questions_of(slug: str, plan: Plan, reasoned: Reasoned) -> list[Question]:
    """What a step asks. Follow-up questions are chosen when they are first shown, and kept in the plan."""
    if slug == "water":
        return facts(reasoned, ["barrier", "seasonal"])
    if slug == "people":
        return [*facts(reasoned, ["infants", "pregnancy", "weak_immunity"]), *_asked(reasoned, ["ill"], "three")]
    if slug == "first":
        return complaints(reasoned, "health")
    if slug == DEVICE:
        return features(reasoned, AT_A_GLANCE, "tick")
    if slug in LOOKED:
        return features(reasoned, _chosen(slug, plan, reasoned), "three")
    if slug in AREAS:
        return complaints(reasoned, slug)
    if slug in ("more", "next", "try"):
        return _asked(reasoned, _chosen(slug, plan, reasoned), "three")
    return []


def _chosen(slug: str, plan: Plan, reasoned: Reasoned) -> list[str]:
    kind, most = ("home check", MOST_TRIED) if slug == "try" else ("ask", MOST_FOLLOWING)
    if slug not in plan.following:
        taken = {code for codes in plan.following.values() for code in codes}
        if slug in LOOKED:
            steps = [question.code for question in to_look_at(reasoned, effort=OUTSIDE)]
        else:
            known = reasoned.tables.observations
            steps = [step.code for step in reasoned.diagnosis.steps if step.kind == kind and step.code in known]
        best = [code for code in steps if code not in taken]
        if not best:
            return []  # nothing to ask yet: another answer may bring some
        plan.following[slug] = best[:most]
    return plan.following[slug]


def areas(plan: Plan, reasoned: Reasoned) -> list[tuple[str, str, str, bool]]:
    """(area, words, picture, ticked): ticked is what was ticked before, or what the office has noted already."""
    noted = {
        one.group
        for code, one in reasoned.tables.observations.items()
        if one.complaint and reasoned.answers.observations.get(code) == "yes"
    }
    return [
        (area, str(words), picture(name, SIZE), area in plan.about or area in noted)
        for area, (words, name) in AREAS.items()
    ]


def sources(chosen: str) -> list[tuple[str, str, str, bool]]:
    """(code, words, picture, chosen); the last is that they do not know."""
    known = [(code, str(label), picture(code, SIZE), code == chosen) for code, label in Source.choices]
    return [*known, ("", _("I don't know"), "", not chosen)]


STOP_HEADINGS: Mapping[str, Any] = {
    "danger": L("Stop using this water, and call us"),
    "do_not_drink": L("Do not drink this water for now"),
    "refer": L("Somebody else must look first"),
}


def stops(reasoned: Reasoned) -> list[tuple[str, list[Interlock]]]:
    """What is said first on every step: (heading, hazards), gravest first. Cautions for tradespeople stay with us."""
    found: dict[str, list[Interlock]] = {}
    for lock in reasoned.diagnosis.interlocks:
        if lock.severity in STOP_HEADINGS:
            found.setdefault(lock.severity, []).append(lock)
    return [(str(STOP_HEADINGS[severity]), locks) for severity, locks in found.items()]


def summary(reasoned: Reasoned) -> list[tuple[str, str]]:
    """(question, answer) of everything answered, for a last look before sending."""
    words = {"yes": _("yes"), "no": _("no"), "unknown": _("don't know")}
    rows = [(str(FACTS[code].ask), words[answer]) for code, answer in reasoned.answers.facts.items() if code in FACTS]
    known = reasoned.tables.observations
    told = reasoned.answers.observations.items()
    rows += [(_(known[code].ask), words[answer]) for code, answer in told if code in known]
    seen = reasoned.tables.features
    for told_of in reasoned.answers.things.values():
        rows += [(_(seen[code].ask), words[answer]) for code, answer in told_of.items() if code in seen]
    return rows
