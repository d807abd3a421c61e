"""Outside taps that are not treated: asked at the bench, kept with the design, drawn, and named on every paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from service.documents import drafts
from service.documents.actions import html_of
from service.installs.actions import install_from_quote
from service.installs.water_path import path_of_install, path_of_train
from service.jobs.actions import plan_job
from service.jobs.models import JobPart
from service.office.views_design import wishes_form
from sizing.engine.design import Branch, StageKind
from sizing.engine.train import choose_train
from sizing.proposals.actions import make_design
from sizing.proposals.adapters import read_raw
from sizing.proposals.goals import usual_wishes, wishes_again
from sizing.proposals.queries import question_of, train_value
from tests import factories
from tests.service.factories_service import a_train, accepted_quote
from tests.sizing.designed import few, measured, stocked

OUTSIDE = Branch("outside", 1, 18.927, 300.0)  # 5 gpm


def with_outside_tap(dealer: Any, **site: Any) -> Any:
    """A household ready to be designed, with a tap out of doors."""
    stocked(dealer)
    row = measured(dealer, **site)
    row.fixtures.create(dealer=dealer, code="outdoor_tap", count=1)
    return row


def test_the_bench_asks_only_where_there_is_a_tap_out_of_doors(dealer: Any) -> None:
    bare = measured(dealer)
    assert "outside_untreated" not in wishes_form(bare, read_raw(bare), None).fields
    site = with_outside_tap(dealer)
    form = wishes_form(site, read_raw(site), None)
    assert form.fields["outside_untreated"].initial is False


def test_the_file_of_the_household_gives_the_first_answer(dealer: Any) -> None:
    site = with_outside_tap(dealer, untreated_tap=True)
    assert wishes_form(site, read_raw(site), None).fields["outside_untreated"].initial is True


def test_what_was_ticked_is_asked_kept_and_asked_again(dealer: Any) -> None:
    site = with_outside_tap(dealer)
    raw = read_raw(site)
    shown = wishes_form(site, raw, None)
    told = {name: field.initial for name, field in shown.fields.items() if field.initial not in (None, False)}
    form = wishes_form(site, raw, None, {**told, "outside_untreated": "on", "outside_litres": "400"})
    assert form.is_valid(), form.errors
    wishes = form.wishes()
    proposal = make_design(site=site, actor_name="Maren Vik", now=factories.NOW, wishes=wishes, raw=raw)
    kept = question_of(proposal)
    assert kept.site.outside_untreated
    litres = kept.occupancy.outside_litres_day
    assert litres == pytest.approx(400.0 if proposal.unit_system == "metric" else 400 * 3.785411784)
    train = train_value(proposal.trains.first())
    assert train.branches[0].code == "outside"
    assert (
        choose_train(replace(kept, catalogue=few())).trains[0].branches == train.branches
    )  # recomputed from what was kept
    again = wishes_again(kept, raw.water, jurisdiction=site.dealer.jurisdiction)
    assert (again.outside_untreated, again.outside_litres_day) == (True, litres)


def test_impossible_garden_water_is_refused_with_what_is_accepted(dealer: Any) -> None:
    site = with_outside_tap(dealer)
    raw = read_raw(site)
    told = {name: f.initial for name, f in wishes_form(site, raw, None).fields.items() if f.initial}
    for typed in ("-5", "999999"):
        form = wishes_form(site, raw, None, {**told, "outside_litres": typed})
        assert not form.is_valid()
        assert "accepted is 0 to" in form.errors["outside_litres"][0]


def test_a_design_kept_before_there_were_branches_still_stands(dealer: Any) -> None:
    stocked(dealer)
    site = measured(dealer)
    raw = read_raw(site)
    proposal = make_design(
        site=site, actor_name="Maren Vik", now=factories.NOW, wishes=usual_wishes(site, raw.water), raw=raw
    )
    del proposal.request["site"]["outside_untreated"], proposal.request["occupancy"]["outside_litres_day"]
    row = proposal.trains.first()
    row.data.pop("branches")
    row.save()
    proposal.save()
    assert not question_of(proposal).site.outside_untreated
    again = choose_train(replace(question_of(proposal), catalogue=few())).trains[0]
    assert [s.product.code for s in train_value(row).stages] == [s.product.code for s in again.stages]


def test_the_drawing_branches_ahead_of_the_first_stage(site: Any, now: Any) -> None:
    site.untreated_tap = False
    plain = path_of_train(site, a_train(), now.date())
    split = path_of_train(site, replace(a_train(), branches=(OUTSIDE,)), now.date())
    assert plain.branch is None
    assert split.branch is not None
    assert (split.branch.name, split.branch.note) == ("Outside tap", "not treated")


def test_papers_job_and_van_name_the_branch(site: Any, now: Any) -> None:
    train = replace(a_train(), branches=(OUTSIDE,))
    install = install_from_quote(quote=accepted_quote(site, train=train), now=now)
    job = plan_job(
        site=site, kind="install", what="Install", actor_name="Maren Vik", now=now, install=install,
        wanted_from=now.date() + timedelta(days=3), hours=4.0,
    )  # fmt: skip
    (step,) = job.tasks.filter(code="branch_outside")
    assert step.text.startswith("Outside tap: not treated.")
    assert "vacuum breaker" in step.text
    assert JobPart.objects.filter(job=job, name__icontains="vacuum breaker").exists()
    assert path_of_install(install, now.date()).branch is not None
    for draft in (
        drafts.quote_draft(install.quote, now.date()),
        drafts.install_sheet_draft(install, job, now.date()),
    ):
        assert "Outside tap: not treated" in html_of(draft, version=1, now=now)


def test_without_a_branch_no_paper_has_the_table(site: Any, now: Any) -> None:
    install = install_from_quote(quote=accepted_quote(site), now=now)
    assert "Lines that leave the main line" not in html_of(
        drafts.install_sheet_draft(install, None, now.date()), version=1, now=now
    )


def test_soft_hot_water_is_asked_kept_and_asked_again(dealer: Any) -> None:
    stocked(dealer)
    site = measured(dealer, water={"total_coliform": "absent"})
    raw = read_raw(site)
    shown = wishes_form(site, raw, None)
    told = {name: field.initial for name, field in shown.fields.items() if field.initial not in (None, False)}
    form = wishes_form(site, raw, None, {**told, "soften_hot": "on"})
    assert form.is_valid(), form.errors
    proposal = make_design(site=site, actor_name="Maren Vik", now=factories.NOW, wishes=form.wishes(), raw=raw)
    kept = question_of(proposal)
    assert kept.goals.soften == "hot"
    row = proposal.trains.first()
    train = train_value(row)
    assert "hot" in [branch.code for branch in train.branches]
    assert row.stages.filter(kind="softener", at="hot").exists()
    assert choose_train(replace(kept, catalogue=few())).trains[0].branches == train.branches
    assert wishes_again(kept, raw.water, jurisdiction=site.dealer.jurisdiction).soften == "hot"
    assert wishes_form(site, raw, kept).fields["soften_hot"].initial is True
    path = path_of_train(site, train, factories.NOW.date())
    assert [stage.kind for stage in path.heated] == ["softener"]
    assert path.taps.cold == "house, not softened"


def test_papers_name_the_hot_line(site: Any, now: Any) -> None:
    train = a_train()
    softener = replace(train.stages[-1], kind=StageKind.SOFTENER, at="hot")
    hot = replace(
        train, stages=(*train.stages[:-1], softener), tap_water=None, branches=(Branch("hot", 5, 20.0, 300.0),)
    )
    install = install_from_quote(quote=accepted_quote(site, train=hot), now=now)
    assert [stage.at for stage in install.stages.order_by("position")] == ["main", "main", "hot"]
    assert len(path_of_install(install, now.date()).heated) == 1
    for draft in (
        drafts.quote_draft(install.quote, now.date()),
        drafts.install_sheet_draft(install, None, now.date()),
    ):
        assert "Hot line: softened" in html_of(draft, version=1, now=now)
