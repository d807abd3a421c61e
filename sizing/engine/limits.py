"""Drinking-water limits by authority, and the judging of a result against one.

No result and no set of results proves a water fit to drink; a limit that is kept is a limit that is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cache

from sizing.engine import figures, unit_forms
from sizing.engine.errors import OutsideValidRange
from sizing.engine.reported import QUALIFIERS, Reported
from sizing.engine.water import ANALYTES

JURISDICTIONS: Mapping[str, tuple[str, str]] = {
    "us": ("us-epa-limits", "US EPA"),
    "canada": ("health-canada-limits", "Health Canada"),
    "who": ("who-limits", "WHO"),
}
KINDS = ("health", "aesthetic", "operational")


@dataclass(frozen=True)
class Limit:
    """One limit. ``value`` in the engine's unit, ``printed`` as the authority prints it.

    ``standing``: "in force", "superseded", "rescinded", "proposed" or "not read"; only the first judges.
    """

    key: str
    analyte: str
    authority: str
    kind: str
    name: str
    value: float
    unit: str
    sense: str
    printed: str
    date: str
    status: str
    source: str
    note: str
    standing: str

    @property
    def superseded(self) -> bool:
        """Whether a newer value has taken its place (it stays readable)."""
        return self.standing in ("superseded", "rescinded")


class Verdict(StrEnum):
    """What a result says about a limit."""

    MET = "met"
    NOT_MET = "not met"
    NOT_TESTED = "not tested"
    CANNOT_TELL = "cannot tell"
    OUT_OF_DATE = "out of date"


@dataclass(frozen=True)
class Standing:
    """A verdict with the words to print beside it."""

    verdict: Verdict
    words: str
    limit: Limit


def _limit(document: str, authority: str, key: str, row: Mapping[str, object]) -> Limit:
    figure = figures.figure(document, key)
    analyte = ANALYTES.get(str(row["analyte"]))
    value, unit = float(figure.value), figure.unit
    printed = f"{figure.value:g} {unit}".strip()
    if analyte is not None:
        value = float(unit_forms.to_canonical(analyte, value, unit))
        unit = " ".join(part for part in (analyte.unit, analyte.basis) if part)
    return Limit(
        key=key,
        analyte=str(row["analyte"]),
        authority=authority,
        kind=str(row["kind"]),
        name=str(row["name"]),
        value=value,
        unit=unit,
        sense=str(row.get("sense", "max")),
        printed=printed,
        date=str(row.get("date", "")),
        status=figure.status,
        source=figure.citation,
        note=figure.note,
        standing=str(row.get("standing", "in force")),
    )


@cache
def printed_limits(jurisdiction: str) -> tuple[Limit, ...]:
    """Every limit the documents of a jurisdiction hold, old and proposed ones and unmeasured analytes too.

    Why: old values still circulate; people must be able to read what was valid when.
    Units: canonical for analytes of the engine, as printed for others.
    Range: "us", "canada" or "who".
    Raises: ``OutsideValidRange`` for another jurisdiction.
    Source: the limit documents in ``sizing/figures`` (each row with its own status).

    >>> [limit.standing for limit in printed_limits("canada") if limit.analyte == "iron"]
    ['in force', 'superseded']
    """
    if jurisdiction not in JURISDICTIONS:
        raise OutsideValidRange("jurisdiction", jurisdiction, source=f"known are {', '.join(JURISDICTIONS)}")
    document, authority = JURISDICTIONS[jurisdiction]
    return tuple(_limit(document, authority, key, row) for key, row in figures.rows(document).items())


@cache
def limit_set(jurisdiction: str, *, with_old: bool = False) -> tuple[Limit, ...]:
    """The limits a jurisdiction judges by: in force, for analytes the engine knows, health first.

    Why: one list for screens, papers and the test of a design's goals.
    Units: canonical (nitrate as N whatever the authority prints).
    Range: "us" (US EPA), "canada" (Health Canada) or "who"; ``with_old`` adds superseded values, which never
    judge.
    Raises: ``OutsideValidRange`` for another jurisdiction.
    Source: the limit documents in ``sizing/figures`` (each row with its own status and date).

    >>> {limit.value for limit in limit_set("us") if limit.analyte == "iron"}
    {0.3}
    """
    rows = [limit for limit in printed_limits(jurisdiction) if limit.analyte in ANALYTES]
    kept = [limit for limit in rows if limit.standing == "in force" or (with_old and limit.superseded)]
    order = list(ANALYTES)
    return tuple(sorted(kept, key=lambda limit: (KINDS.index(limit.kind), order.index(limit.analyte))))


def age_limits(jurisdiction: str) -> dict[str, int]:
    """Days for which a result counts, by group of analytes.

    Why: a clean bacteria sample of three years ago says nothing about today.
    Units: days by group ("microbes", "ions", "general", "metals", "optical", "organics").
    Range: "us", "canada" or "who".
    Raises: ``OutsideValidRange`` for another jurisdiction.
    Source: US EPA 12 months, Health Canada 6 and 24 months (published); other groups 24 months (common
    practice).

    >>> age_limits("canada")["microbes"], age_limits("us")["microbes"]
    (183, 365)
    """
    if jurisdiction not in JURISDICTIONS:
        raise OutsideValidRange("jurisdiction", jurisdiction, source=f"known are {', '.join(JURISDICTIONS)}")
    stated = figures.figure("test-intervals", "us" if jurisdiction == "us" else "canada").value
    other = figures.figure("test-intervals", "other").value
    groups = {analyte.group for analyte in ANALYTES.values()}
    return {group: int(stated.get(group, other)) for group in sorted(groups)}


def judge(
    qualifier: str | None,
    value: float | None,
    limit: Limit,
    *,
    sampled_on: date | None = None,
    today: date | None = None,
    max_age_days: Mapping[str, int] | int | None = None,
) -> Standing:
    """What a reported result says about a limit.

    Why: a non-detect with its reporting limit above the guideline proves nothing, an old pass expires, an old
    failure stays a failure.
    Units: ``value`` canonical (the reporting limit for "below"); days for the age, one number or by group.
    Range: a qualifier of ``reported.QUALIFIERS``, or ``None`` for "not tested". Without ``sampled_on`` or
    ``today`` or an age limit the age is not judged.
    Raises: ``OutsideValidRange`` for another qualifier, or a sample taken after today.
    Source: rule of the engine (common practice); the limit carries its own source.

    >>> iron = next(limit for limit in limit_set("us") if limit.analyte == "iron")
    >>> judge("equal", 0.9, iron).verdict, judge("below", 0.5, iron).verdict, judge(None, None, iron).verdict
    (<Verdict.NOT_MET: 'not met'>, <Verdict.CANNOT_TELL: 'cannot tell'>, <Verdict.NOT_TESTED: 'not tested'>)
    """
    name = ANALYTES[limit.analyte].name if limit.analyte in ANALYTES else limit.analyte
    what = f"{limit.name} of {limit.authority}, {limit.printed}"
    if qualifier is None:
        return Standing(Verdict.NOT_TESTED, f"{name} was not tested ({what}).", limit)
    if qualifier not in QUALIFIERS:
        raise OutsideValidRange("qualifier", qualifier, source=f"known are {', '.join(QUALIFIERS)}")
    verdict = _compare(qualifier, value, limit)
    if verdict is Verdict.MET and (days := _too_old(limit, sampled_on, today, max_age_days)) is not None:
        return Standing(
            Verdict.OUT_OF_DATE,
            f"{name} kept the limit {days} days ago; that is too long to go by ({what}).",
            limit,
        )
    side = "below" if limit.sense == "min" else "above"
    words = {
        Verdict.MET: f"{name} keeps the limit in this sample ({what}).",
        Verdict.NOT_MET: f"{name} is {side} the limit ({what}).",
        Verdict.CANNOT_TELL: f"{name}: the result cannot be set against the limit ({what}); "
        "ask the laboratory for a lower reporting limit or a count.",
    }[verdict]
    if limit.name == "action level":
        words += " An action level is a trigger for action, not a level without risk."
    return Standing(verdict, words, limit)


def _compare(qualifier: str, value: float | None, limit: Limit) -> Verdict:
    """The verdict without regard to age."""
    none_allowed = limit.sense == "max" and limit.value == 0.0
    if qualifier == "absent":
        return Verdict.MET if limit.sense == "max" else Verdict.CANNOT_TELL
    if qualifier == "present" or (qualifier == "above" and value is None):
        return Verdict.NOT_MET if none_allowed else Verdict.CANNOT_TELL
    if value is None:
        return Verdict.CANNOT_TELL
    if qualifier == "equal":
        kept = value <= limit.value if limit.sense == "max" else value >= limit.value
        return Verdict.MET if kept else Verdict.NOT_MET
    if none_allowed:  # counts: "<1" is the way to write none found in the volume
        return (
            Verdict.MET
            if qualifier == "below" and value <= 1.0
            else (Verdict.NOT_MET if qualifier == "above" else Verdict.CANNOT_TELL)
        )
    if qualifier == "below":
        if limit.sense == "max":
            return Verdict.MET if value <= limit.value else Verdict.CANNOT_TELL
        return Verdict.NOT_MET if value <= limit.value else Verdict.CANNOT_TELL
    if limit.sense == "max":
        return Verdict.NOT_MET if value >= limit.value else Verdict.CANNOT_TELL
    return Verdict.MET if value >= limit.value else Verdict.CANNOT_TELL


def _too_old(
    limit: Limit,
    sampled_on: date | None,
    today: date | None,
    max_age_days: Mapping[str, int] | int | None,
) -> int | None:
    """Age in days where the result is too old, else ``None``."""
    if sampled_on is None or today is None:
        return None
    age = (today - sampled_on).days
    if age < 0:
        raise OutsideValidRange("sampling date", sampled_on.isoformat(), source="a sample is taken by today")
    if max_age_days is None:
        return None
    if isinstance(max_age_days, int):
        most = max_age_days
    else:
        group = ANALYTES[limit.analyte].group if limit.analyte in ANALYTES else ""
        if group not in max_age_days:
            return None
        most = max_age_days[group]
    return age if age > most else None


def judge_all(
    results: Mapping[str, Reported],
    jurisdiction: str,
    *,
    sampled_on: date | None = None,
    today: date | None = None,
    only: Iterable[str] | None = None,
) -> tuple[Standing, ...]:
    """Every limit of a jurisdiction against a set of results, health first, worst first within a kind.

    Why: the page of a water test, in the order in which it must be read.
    Units: as ``judge``; ages by ``age_limits``.
    Range: results by analyte code; ``only`` keeps to some analytes.
    Raises: ``OutsideValidRange`` as ``judge``.
    Source: see ``limit_set`` and ``judge``.

    >>> from sizing.engine.reported import parse_result
    >>> first = judge_all({"e_coli": parse_result("present", "e_coli")}, "us")[0]
    >>> first.limit.analyte, first.verdict.value
    ('e_coli', 'not met')
    """
    wanted = None if only is None else set(only)
    ages = age_limits(jurisdiction)
    found = []
    for limit in limit_set(jurisdiction):
        if wanted is not None and limit.analyte not in wanted:
            continue
        result = results.get(limit.analyte)
        found.append(
            judge(
                None if result is None else result.qualifier,
                None if result is None else result.canonical,
                limit,
                sampled_on=sampled_on,
                today=today,
                max_age_days=ages,
            )
        )
    worst = [Verdict.NOT_MET, Verdict.CANNOT_TELL, Verdict.OUT_OF_DATE, Verdict.NOT_TESTED, Verdict.MET]
    acute = {"e_coli": 0, "total_coliform": 1, "nitrate": 2, "nitrite": 3}
    return tuple(
        sorted(
            found,
            key=lambda s: (KINDS.index(s.limit.kind), worst.index(s.verdict), acute.get(s.limit.analyte, 9)),
        )
    )
