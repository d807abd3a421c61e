"""The tables as people read them: shares by source beside the shipped ones, signs, questions, devices, counts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.causes.models import CauseCorrection, Kind
from sizing.engine.diagnosis import DiagnosisTables, load_tables
from sizing.engine.diagnosis_tables import OTHER, Column, Device
from sizing.engine.water import ANALYTES

COLUMN_WORDS = (
    gettext_lazy("Drilled well"),
    gettext_lazy("Dug well"),
    gettext_lazy("Lake"),
    gettext_lazy("River, spring, cistern"),
)
COLUMN_SOURCES = ("drilled_well", "dug_well", "lake", "spring")
ASKED_WORDS = {
    "phone": gettext_lazy("asked"),
    "home": gettext_lazy("home check"),
    "visit": gettext_lazy("field test"),
    "laboratory": gettext_lazy("laboratory"),
}
PROFILE_WORDS = {
    "none": gettext_lazy("next to nothing"),
    "low": gettext_lazy("low"),
    "usual": gettext_lazy("as usual"),
    "raised": gettext_lazy("raised"),
    "high": gettext_lazy("high"),
}


@dataclass(frozen=True)
class Cell:
    """One share in percent: what holds now, what was shipped where that differs, and how many jobs found it."""

    now: float
    shipped: float | None
    found: int = 0


@dataclass(frozen=True)
class ShareRow:
    """One cause of a complaint."""

    code: str
    words: str
    own: bool
    cells: tuple[Cell, ...]
    status: str
    source: str


@dataclass(frozen=True)
class ComplaintRow:
    """One complaint in the overview."""

    code: str
    words: str
    causes: int
    leading: str
    jobs: int
    own: int


@dataclass(frozen=True)
class SignRow:
    """One thing a cause shows: how often in percent, by source where that matters, and the answers counted."""

    code: str
    words: str
    asked: str
    cells: tuple[Cell, ...]
    yes: int
    no: int


@dataclass(frozen=True)
class QuestionRow:
    """One question of the tables."""

    code: str
    words: str
    ask: str
    asked: str
    group: str
    cost: str
    days: float
    background: float
    causes: int
    own: bool


def _percent(share: float) -> float:
    return round(100.0 * share, 1)


def _cells(now: Column, shipped: Column | None, found: tuple[int, ...] = (0, 0, 0, 0)) -> tuple[Cell, ...]:
    before = shipped or (0.0, 0.0, 0.0, 0.0)
    return tuple(
        Cell(_percent(value), _percent(old) if shipped is not None and abs(value - old) > 5e-4 else None, n)
        for value, old, n in zip(now, before, found, strict=True)
    )


def _one_if_alike(cells: tuple[Cell, ...]) -> tuple[Cell, ...]:
    return cells[:1] if len({(cell.now, cell.shipped) for cell in cells}) == 1 else cells


def cause_words(tables: DiagnosisTables, code: str) -> str:
    """A cause in words; the code itself for one the tables do not know any more."""
    if code == OTHER:
        return _("Something that is not in the tables")
    return _(tables.causes[code].words) if code in tables.causes else code


def share_rows(tables: DiagnosisTables, complaint: str) -> list[ShareRow]:
    """The causes of a complaint with their shares, the largest first."""
    shipped = {one.cause: one for one in load_tables().shares.get(complaint, ())}
    rows = []
    for one in tables.shares[complaint]:
        old = shipped.get(one.cause)
        found = tuple(tables.counts.causes.get((complaint, place, one.cause), 0) for place in range(4))
        rows.append(
            ShareRow(
                code=one.cause,
                words=cause_words(tables, one.cause),
                own=one.cause not in load_tables().causes,
                cells=_cells(
                    one.weights,
                    old.weights if old else None if one.cause not in load_tables().causes else (0.0,) * 4,
                    found,
                ),
                status=one.status,
                source=one.source,
            )
        )
    return sorted(rows, key=lambda row: -max(cell.now for cell in row.cells))


def complaint_groups(tables: DiagnosisTables) -> list[tuple[str, list[ComplaintRow]]]:
    """Every complaint by group: how many causes, which leads, how many finished jobs count."""
    grouped: dict[str, list[ComplaintRow]] = {}
    for code, shares in tables.shares.items():
        one = tables.observations[code]
        row = ComplaintRow(
            code=code,
            words=_(one.words),
            causes=len(shares),
            leading=cause_words(tables, max(shares, key=lambda share: sum(share.weights)).cause),
            jobs=sum(n for (complaint, _place, _cause), n in tables.counts.causes.items() if complaint == code),
            own=sum(share.cause not in load_tables().causes for share in shares),
        )
        grouped.setdefault(one.group, []).append(row)
    order = [code for code in tables.groups if code in grouped]
    return [(_(tables.groups[code]), grouped[code]) for code in order]


def sign_rows(tables: DiagnosisTables, cause: str) -> list[SignRow]:
    """What a cause shows, the surest first; other complaints it makes among them."""
    one, old = tables.causes[cause], load_tables().causes.get(cause)
    now = {**one.signs, **one.presents}
    before = {**old.signs, **old.presents} if old else {}
    rows = []
    for code, value in now.items():
        if code not in tables.observations:
            continue
        known = tables.observations[code]
        rows.append(
            SignRow(
                code=code,
                words=_(known.words),
                asked=_("complaint too") if known.complaint else str(ASKED_WORDS[known.asked]),
                cells=_one_if_alike(_cells(value, before.get(code, value if old is None else known.background))),
                yes=tables.counts.answers.get((cause, code, "yes"), 0),
                no=tables.counts.answers.get((cause, code, "no"), 0),
            )
        )
    return sorted(rows, key=lambda row: -row.cells[0].now)


def result_lines(tables: DiagnosisTables, cause: str) -> list[tuple[str, str]]:
    """Measured values a cause leads one to expect, in words."""
    named = {code: analyte.name for code, analyte in ANALYTES.items()}
    named["iron_share"] = _("Dissolved part of the iron")
    return [(_(named[code]), str(PROFILE_WORDS[profile])) for code, profile in tables.causes[cause].results.items()]


def question_groups(tables: DiagnosisTables) -> list[tuple[str, list[QuestionRow]]]:
    """Every question by group, complaints aside."""
    used: dict[str, int] = {}
    for cause in tables.causes.values():
        for code in cause.signs:
            used[code] = used.get(code, 0) + 1
    grouped: dict[str, list[QuestionRow]] = {}
    for one in tables.observations.values():
        if one.complaint:
            continue
        row = QuestionRow(
            code=one.code,
            words=_(one.words),
            ask=_(one.ask),
            asked=str(ASKED_WORDS[one.asked]),
            group=one.group,
            cost=str(one.cost),
            days=one.days,
            background=_percent(max(one.background)),
            causes=used.get(one.code, 0),
            own=one.code not in load_tables().observations,
        )
        grouped.setdefault(one.group, []).append(row)
    return [(_(tables.groups[code]), grouped[code]) for code in tables.groups if code in grouped]


def device_rows(tables: DiagnosisTables) -> list[tuple[Device, bool, list[str]]]:
    """Every device, whether it is the dealer's own, and its surest features in words."""
    rows = []
    for one in tables.devices.values():
        sure = sorted(one.features.items(), key=lambda pair: -pair[1])
        told = [_(tables.features[code].words) for code, share in sure[:4] if share >= 0.5]
        rows.append((one, one.code not in load_tables().devices, told))
    return rows


def feature_rows(tables: DiagnosisTables, device: str) -> list[tuple[str, str, Cell]]:
    """Features of a device with how often they are seen on it, in percent."""
    one, old = tables.devices[device], load_tables().devices.get(device)
    rows = []
    for code, share in sorted(one.features.items(), key=lambda pair: -pair[1]):
        known = tables.features[code]
        before = (old.features.get(code, known.background) if old else share) if code in tables.features else share
        rows.append(
            (code, _(known.words), Cell(_percent(share), _percent(before) if abs(before - share) > 5e-4 else None))
        )
    return rows


def told_in_words(tables: DiagnosisTables, row: CauseCorrection) -> str:
    """A correction in one sentence."""
    data: Mapping[str, object] = row.data
    percent = f"{100 * float(str(data.get('value') or 0)):.0f} %"
    target = tables.observations.get(row.target)
    what = _(target.words) if target else row.target
    told = {"code": row.code, "words": str(data.get("words", "")), "target": what, "percent": percent}
    told["cause"] = cause_words(tables, row.code)
    if row.kind == Kind.CAUSE:
        return _("Own cause: %(words)s") % told
    if row.kind == Kind.OBSERVATION:
        return _("Own question: %(words)s") % told
    if row.kind == Kind.DEVICE:
        return _("Own device: %(words)s") % told
    if row.kind == Kind.FEATURE:
        return _("Own feature: %(words)s") % told
    if row.kind == Kind.SHARE:
        source = str(data.get("source") or "")
        where = str(COLUMN_WORDS[tables.columns[source]]) if source in tables.columns else _("all sources")
        return _("%(cause)s behind “%(target)s”: %(percent)s, %(where)s") % {**told, "where": where}
    if row.kind == Kind.LIKELIHOOD:
        return _("%(cause)s shows “%(target)s”: %(percent)s") % told
    if row.kind == Kind.SEEN_ON:
        device, feature = tables.devices.get(row.code), tables.features.get(row.target)
        told["device"] = _(device.words) if device else row.code
        told["feature"] = _(feature.words) if feature else row.target
        return _("%(device)s shows “%(feature)s”: %(percent)s") % told
    return _("“%(target)s” came from: %(cause)s") % told
