"""Writing corrections, confirming causes, taking back and putting back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.utils.translation import gettext as _

from customers.causes.models import CauseCorrection, Kind
from customers.causes.queries import correction_of, standing_about, standing_rows, tables_of
from customers.dealers.models import Dealer
from customers.dealers.queries import id_from
from customers.households.log import add_log
from customers.households.models import Site
from sizing.engine.diagnosis import Answer, Correction, laid_over, load_tables, tables_with
from sizing.engine.diagnosis_tables import OTHER
from sizing.engine.errors import OutsideValidRange
from sizing.engine.storage import to_data


class CorrectionRefused(ValueError):
    """A correction was not kept: ``field``, ``value`` and what would do."""

    def __init__(self, field: str, value: object, accepted: str) -> None:
        self.field, self.value, self.accepted = field, value, accepted
        super().__init__(
            _("%(field)s is %(value)s, accepted is %(accepted)s")
            % {"field": field, "value": value if value not in ("", None) else _("empty"), "accepted": accepted}
        )


@transaction.atomic
def make_correction(
    *,
    dealer: Dealer,
    correction: Correction,
    why: str,
    actor_name: str,
    now: datetime,
    form_token: UUID | str | None = None,
) -> CauseCorrection:
    """Lay one correction over the dealer's tables. The same ``form_token`` twice makes it once.

    Raises ``CorrectionRefused`` where it says nothing of why, does not fit the tables, or would confirm a cause
    (``confirm_cause`` does that, at a household).
    """
    if not why.strip():
        raise CorrectionRefused("why", "", _("a few words: who will read it later was not there"))
    if correction.kind == Kind.FINISHED:
        raise CorrectionRefused("kind", correction.kind, _("a confirmed cause is recorded at its household"))
    return _keep(dealer, correction, why, actor_name, now, id_from(dealer, form_token) if form_token else uuid4())


@dataclass(frozen=True)
class About:
    """What a confirmed cause is about: a household, or an enquiry that may have joined one."""

    public_id: UUID
    label: str
    source: str
    site: Site | None = None

    @classmethod
    def household(cls, site: Site) -> About:
        """A household's file."""
        return cls(site.public_id, site.name, site.source, site)


def _keep(
    dealer: Dealer,
    correction: Correction,
    why: str,
    actor_name: str,
    now: datetime,
    made_id: UUID,
    about: About | None = None,
) -> CauseCorrection:
    if earlier := CauseCorrection.objects.filter(public_id=made_id).first():
        return earlier
    try:
        tables_with(tables_of(dealer), [correction])
    except OutsideValidRange as refused:
        raise CorrectionRefused(refused.parameter, refused.value, refused.accepted) from refused
    return CauseCorrection.objects.create(
        dealer=dealer,
        public_id=made_id,
        kind=correction.kind,
        code=correction.code,
        target=correction.target,
        data=to_data(correction),
        site=about.site if about else None,
        about=about.public_id if about else None,
        label=about.label[:160] if about else "",
        why=why.strip()[:300],
        made_by=actor_name,
        made_at=now,
    )


@transaction.atomic
def confirm_cause(
    *,
    dealer: Dealer,
    about: About,
    complaint: str,
    cause: str,
    actor_name: str,
    now: datetime,
    answers: Mapping[str, Answer] | None = None,
    why: str = "",
    form_token: UUID | str | None = None,
) -> CauseCorrection:
    """Record what a complaint turned out to come from (``something_else`` too): the finished job counts.

    One cause stands a complaint of a household or enquiry: another recorded later takes the place of the first,
    which stays readable as taken back. ``answers`` are what had been said; they correct the likelihoods. One job
    may explain several complaints: an answer that stands counted for the same cause there is not counted again.

    Raises ``CorrectionRefused`` for a source, complaint, cause or answer that is not in the dealer's tables.
    """
    made_id = id_from(dealer, form_token) if form_token else uuid4()
    if kept := CauseCorrection.objects.filter(public_id=made_id).first():
        return kept
    standing = standing_about(about.public_id, about.site)
    for earlier in standing.filter(target=complaint):
        _mark_undone(earlier, actor_name, now)
    counted = _answers_counted(standing.filter(code=cause).exclude(target=complaint))
    said = {code: answer for code, answer in sorted((answers or {}).items()) if code not in counted}
    correction = Correction("finished", cause, target=complaint, source=about.source, answers=said)
    row = _keep(dealer, correction, why, actor_name, now, made_id, about)
    if about.site is not None:
        tables = tables_of(dealer)
        words = _(tables.causes[cause].words) if cause != OTHER else _("something that is not in the tables")
        told = {"complaint": _(tables.observations[complaint].words), "cause": words}
        what = _("cause of “%(complaint)s” confirmed: %(cause)s") % told
        add_log(site=about.site, who=actor_name, what=what, at=now)
    return row


def _answers_counted(rows: Iterable[CauseCorrection]) -> set[str]:
    """Questions whose answers these confirmed causes count already; never a row's own complaint."""
    counted: set[str] = set()
    for row in rows:
        counted |= {
            code for code, answer in correction_of(row).answers.items() if answer != "unknown" and code != row.target
        }
    return counted


@transaction.atomic
def take_back_about(*, about: UUID, actor_name: str, now: datetime, keep: Iterable[str] = ()) -> int:
    """Take back what stands about a household or enquiry, except for the complaints in ``keep``; how many."""
    rows = list(standing_about(about).exclude(target__in=list(keep)))
    for row in rows:
        _mark_undone(row, actor_name, now)
    return len(rows)


@transaction.atomic
def undo_correction(*, correction: CauseCorrection, actor_name: str, now: datetime) -> CauseCorrection:
    """Take a correction back; twice is once.

    Raises ``CorrectionRefused`` where later ones rest on it (an own cause that jobs found): those first.
    """
    if correction.undone_at is not None:
        return correction
    rest = [row for row in standing_rows() if row.pk != correction.pk]
    before = laid_over(load_tables(), [correction_of(row) for row in standing_rows()]).misfits
    after = laid_over(load_tables(), [correction_of(row) for row in rest]).misfits
    orphaned = len(after) - len(before)
    if orphaned > 0:
        accepted = _("one that nothing rests on; take back first: %(name)s") % {
            "name": ", ".join(str(rest[one.place]) for one in after[:3])
        }
        raise CorrectionRefused("correction", str(correction), accepted)
    _mark_undone(correction, actor_name, now)
    if correction.site is not None:
        told = {"complaint": correction.target.replace("_", " ")}
        what = _("confirmed cause taken back (%(complaint)s)") % told
        add_log(site=correction.site, who=actor_name, what=what, at=now)
    return correction


def _mark_undone(correction: CauseCorrection, actor_name: str, now: datetime) -> None:
    correction.undone_by, correction.undone_at = actor_name, now
    correction.save(update_fields=["undone_by", "undone_at"])


@transaction.atomic
def put_back(*, correction: CauseCorrection, actor_name: str, now: datetime) -> CauseCorrection:
    """Lay a correction that was taken back once more, as a new one in today's place; one that stands is left.

    Raises ``CorrectionRefused`` where it does not fit the tables any more.
    """
    if correction.undone_at is None:
        return correction
    again = correction_of(correction)
    if correction.about is not None:
        return confirm_cause(
            dealer=correction.dealer,
            about=About(correction.about, correction.label, again.source, correction.site),
            complaint=again.target,
            cause=again.code,
            answers=again.answers,
            why=correction.why,
            actor_name=actor_name,
            now=now,
        )
    return _keep(correction.dealer, again, correction.why, actor_name, now, uuid4())
