"""What the intake page shows of an enquiry: choices, next question, causes, tests. The engine has computed it all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.enquiries.facts import FACTS
from customers.enquiries.models import AnswerKind, EnquiryAnswer
from customers.households.models import Source
from service.office.intake_values import CauseLine, Choice, ComplaintBlock, Evidence, Step
from sizing.diagnoses.reasoning import Reasoned, outlook
from sizing.diagnoses.wording import gain_words, share_words, wait_words, weight_words
from sizing.drawing.pictures import picture
from sizing.engine.diagnosis import NextStep, RankedCause, Reason
from sizing.engine.diagnosis_tables import OTHER, DiagnosisTables

OBSERVATION, FEATURE, FACT = AnswerKind.OBSERVATION.value, AnswerKind.FEATURE.value, AnswerKind.FACT.value
MOST_CAUSES = 4
MOST_MORE = 4
MOST_TESTS = 3
LEAST_SHARE = 0.03


def choice_of(
    tables: DiagnosisTables, kind: str, code: str, answer: str = "", size: int = 40, thing: int = 1
) -> Choice | None:
    """A question of the tables as a choice; ``None`` for one that is no longer asked."""
    if kind == FACT:
        fact = FACTS.get(code)
        return (
            Choice(kind, code, str(fact.words), str(fact.ask), picture(fact.picture, size), answer) if fact else None
        )
    one = (tables.observations if kind == OBSERVATION else tables.features).get(code)
    if one is None:
        return None
    drawn = picture(code, size) or picture(one.picture, size)
    return Choice(kind, code, _(one.words), _(one.ask), drawn, answer, thing=thing)


def complaint_groups(reasoned: Reasoned, size: int = 40) -> list[tuple[str, str, list[Choice]]]:
    """The big choices: every complaint, by group, hazards first."""
    tables, answers = reasoned.tables, reasoned.answers.observations
    found: dict[str, list[Choice]] = {}
    for code, one in tables.observations.items():
        if one.complaint:
            choice = choice_of(tables, OBSERVATION, code, answers.get(code, ""), size)
            assert choice is not None
            found.setdefault(one.group, []).append(choice)
    return [(group, _(tables.groups[group]), choices) for group, choices in found.items()]


def source_choices(size: int = 40) -> list[tuple[str, str, str]]:
    """Kinds of source: code, words, picture; the last is that nobody knows."""
    known = [(code, str(label), picture(code, size)) for code, label in Source.choices]
    return [*known, ("", _("not known"), "")]


def fact_choices(answers: Mapping[str, str], size: int = 40) -> list[Choice]:
    """What is asked about people and place."""
    return [
        Choice(
            FACT,
            code,
            str(fact.words),
            str(fact.ask),
            picture(fact.picture, size),
            answers.get(code, ""),
            str(fact.hint),
        )
        for code, fact in FACTS.items()
    ]


def answered(reasoned: Reasoned) -> list[Choice]:
    """Questions answered beside the big choices: what was ticked shows as ticked."""
    tables = reasoned.tables
    rows = []
    for code, answer in reasoned.answers.observations.items():
        one = tables.observations.get(code)
        if one is not None and not (one.complaint and answer == "yes"):
            rows.append(choice_of(tables, OBSERVATION, code, answer))
    for thing, seen in reasoned.answers.things.items():
        rows += [choice_of(tables, FEATURE, c, a, thing=thing) for c, a in seen.items() if a != "yes"]
    return [choice for choice in rows if choice is not None]


def ask_steps(reasoned: Reasoned, kind: str = "ask", most: int = MOST_MORE + 1) -> list[Step]:
    """The next questions (or home checks), worthiest first; the first says what its answers would mean."""
    found: list[Step] = []
    for step in reasoned.diagnosis.steps:
        if step.kind != kind or len(found) == most:
            continue
        choice = choice_of(reasoned.tables, OBSERVATION, step.code)
        ahead = _ahead(reasoned, step.code) if not found and choice is not None else ()
        found.append(_step(step, choice, ahead))
    return found


LEADS = {
    "home check": gettext_lazy("Let them try"),
    "field test": gettext_lazy("On a visit"),
    "laboratory": gettext_lazy("Send away"),
}


def _step(step: NextStep, choice: Choice | None, ahead: tuple[str, ...] = ()) -> Step:
    return Step(
        choice=choice,
        words=_(step.words),
        why=gain_words(step.gain_bits),
        outlook=ahead,
        wait=wait_words(step.days),
        cost=step.cost,
        analytes=step.analytes,
        lead=str(LEADS.get(step.kind, "")),
        laboratory=step.kind == "laboratory",
    )


def worth_testing(reasoned: Reasoned) -> list[Step]:
    """What to measure on a visit or send to a laboratory, worthiest first."""
    steps = [step for step in reasoned.diagnosis.steps if step.kind in ("field test", "laboratory")]
    return [_step(step, choice_of(reasoned.tables, OBSERVATION, step.code)) for step in steps[:MOST_TESTS]]


def _ahead(reasoned: Reasoned, code: str) -> tuple[str, ...]:
    """What a yes and a no would make of the leading cause."""
    told = outlook(reasoned, code)
    if not told:
        return ()
    yes, no = told
    names = {
        one.cause: _(reasoned.tables.causes[one.cause].words) for one in told if one.cause in reasoned.tables.causes
    }
    if yes.cause != no.cause:
        words = _("%(answer)s points to: %(cause)s, %(share)s.")
        return tuple(
            words % {"answer": answer, "cause": names.get(one.cause, ""), "share": share_words(one.share)}
            for answer, one in ((_("Yes"), yes), (_("No"), no))
        )
    up, down = (_("Yes"), _("no")) if yes.share >= no.share else (_("No"), _("yes"))
    high, low = max(yes.share, no.share), min(yes.share, no.share)
    words = _("%(up)s makes it %(high)s that it is: %(cause)s; %(down)s, %(low)s.")
    return (
        words
        % {
            "up": up,
            "down": down,
            "cause": names.get(yes.cause, ""),
            "high": share_words(high),
            "low": share_words(low),
        },
    )


def complaint_blocks(reasoned: Reasoned) -> list[ComplaintBlock]:
    """Every open complaint with its causes; what is not in the tables comes last."""
    ranked = {one.code: one for one in reasoned.diagnosis.causes}
    blocks = []
    for complaint in reasoned.diagnosis.complaints:
        shares = sorted(complaint.causes.items(), key=lambda pair: (pair[0] == OTHER, -pair[1]))
        kept = [(code, share) for code, share in shares if code in ranked and share >= LEAST_SHARE][:MOST_CAUSES]
        lines = tuple(_cause_line(reasoned, ranked[code], share) for code, share in kept)
        blocks.append(ComplaintBlock(complaint.code, _(complaint.words), complaint.by == "result", lines))
    return blocks


def _cause_line(reasoned: Reasoned, cause: RankedCause, share: float) -> CauseLine:
    told = reasoned.tables.observations
    said = {one.code for one in reasoned.diagnosis.complaints}  # what is told elsewhere on the page
    said |= {one.code for one in (*cause.supports, *cause.against)}
    return CauseLine(
        code=cause.code,
        words=_(cause.words),
        share=share_words(share),
        percent=round(share * 100),
        health=_(cause.health) if cause.health else "",
        confirm=_(cause.confirm) if cause.confirm else "",
        supports=_evidence(cause.supports),
        against=_evidence(cause.against),
        unexplained=tuple(_(told[code].words) for code in cause.unexplained if code in told and code not in said),
    )


def _evidence(reasons: Iterable[Reason]) -> tuple[Evidence, ...]:
    answers = {"yes": _("yes"), "no": _("no"), "measured": _("measured")}
    return tuple(
        Evidence(_(one.words), answers.get(one.answer, ""), weight_words(one.bits))
        for one in reasons
        if one.answer != "said"
    )


def history_of(tables: DiagnosisTables, rows: Iterable[EnquiryAnswer]) -> list[EnquiryAnswer]:
    """Every answer ever given, oldest first, each with the ``words`` of its question."""
    kept = []
    for row in rows:
        choice = choice_of(tables, row.kind, row.code, row.answer, thing=row.thing)
        row.words = choice.words if choice else row.code  # type: ignore[attr-defined]
        kept.append(row)
    return kept


def analytes_of(steps: Sequence[Step]) -> str:
    """What the worthiest set for a laboratory measures, for the address of the sampling form."""
    sent = next((step.analytes for step in steps if step.laboratory), ())
    return ",".join(sent)
