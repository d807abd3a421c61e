"""One line of a design being worked on: each change is checked at once, with the page or a part of it in answer."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.dealers.queries import today_at
from customers.people.gate import acting, require
from customers.water_tests.bar import notice_bar
from service.office.bench import ground_of
from service.office.bench_line import MOST_FOUND, figures_of, found_products, line_page, parsed
from sizing.engine.display import show
from sizing.engine.errors import EngineError
from sizing.proposals.copies import offered
from sizing.proposals.forms import NameForm
from sizing.proposals.handwork import LineMoved, LineRefused, Worked, begin_line, change_line, undo_change
from sizing.proposals.keeping import bring_back, delete_line, delete_unpinned, name_line
from sizing.proposals.models import ProposedTrain
from sizing.proposals.queries import proposal_for, train_for

#: What keeps the focus after each change; anything else leaves it on the stage's other products.
FOCUS = {
    "larger": "larger",
    "smaller": "smaller",
    "earlier": "earlier",
    "later": "later",
    "one": "pair",
    "two": "pair",
}


@require("design.read", write="design.write")
def design_line(request: HttpRequest, train_id: UUID) -> HttpResponse:
    """A line with its stages to work on. ``?open=2`` lists other products for a stage, ``?q=`` finds some to add."""
    actor = acting(request)
    row = train_for(actor, train_id)
    if request.method != "POST":
        opened = request.GET.get("open", "")
        return _page(
            request, row, opened=int(opened) if opened.isdecimal() else None, focus=request.GET.get("at", "")
        )
    do, seen = request.POST.get("do", ""), request.POST.get("seen", "")
    try:
        worked = _done(row, do, int(seen) if seen.isdecimal() else -1, actor.name)
    except (LineMoved, LineRefused, EngineError) as refused:
        row = train_for(actor, train_id)
        return _page(request, row, problem=str(refused), status=409 if isinstance(refused, LineMoved) else 422)
    if not request.htmx:  # type: ignore[attr-defined]
        messages.success(request, _("%(what)s.") % {"what": worked.words[:1].upper() + worked.words[1:]})
        place = f"#stage-{worked.place + 1}" if worked.place >= 0 else ""
        return redirect(f"{reverse('design-line', args=[worked.row.public_id])}{place}")
    answer = _page(request, train_for(actor, worked.row.public_id), focus=_focus(do, worked), done=worked.words)
    answer["HX-Push-Url"] = reverse("design-line", args=[worked.row.public_id])
    return answer


def _done(row: ProposedTrain, do: str, seen: int, who: str) -> Worked:
    now = timezone.now()
    if do == "undo":
        return undo_change(train=row, seen=seen, actor_name=who, now=now)
    return change_line(train=row, edit=parsed(do), seen=seen, actor_name=who, now=now)


def _focus(do: str, worked: Worked) -> str:
    """The id of what keeps the focus: the button that was pressed, on the stage it was pressed for."""
    what = do.partition(":")[0]
    if what == "undo":
        return "undo" if worked.row.steps else "hl"
    if worked.place < 0:
        return "add"
    return f"{FOCUS.get(what, 'others')}-{worked.place}"


def _page(
    request: HttpRequest,
    row: ProposedTrain,
    *,
    opened: int | None = None,
    focus: str = "",
    done: str = "",
    problem: str = "",
    status: int = 200,
) -> HttpResponse:
    """The whole page, or for htmx the part that is worked on (which it swaps in only under 200)."""
    ground = ground_of(row.proposal)
    site = ground.site
    page = line_page(ground, row, today_at(site.dealer, timezone.now()), opened)
    held = next((margin for margin in page.alt.train.margins if margin.code == "worst_fixture"), None)
    pressure = show(held.value, "pressure", row.proposal.unit_system) if held else ""
    typed = request.GET.get("q", "")
    hits = found_products(offered(row.proposal), typed) if typed else []
    context: dict[str, Any] = {
        "site": site,
        "proposal": row.proposal,
        "ground": ground,
        "line": page,
        "row": row,
        "figures": figures_of(page, ground.request.cost.years, pressure),
        "outcome": ground.outcome,
        "reader": ground.reader,
        "system": row.proposal.unit_system,
        "focus": focus,
        "done": done,
        "problem": problem,
        "problems": [problem] if problem else [],
        "typed": typed,
        "hits": hits[:MOST_FOUND],
        "more": max(len(hits) - MOST_FOUND, 0),
        "notice": notice_bar(site),
    }
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "office/design/work.html", context)
    return render(request, "office/design/line.html", context, status=status)


@require("design.read")
def design_find(request: HttpRequest, train_id: UUID) -> HttpResponse:
    """Products to add, as they are typed."""
    row = train_for(acting(request), train_id)
    typed = request.GET.get("q", "")
    hits = found_products(offered(row.proposal), typed)
    context = {"row": row, "proposal": row.proposal, "typed": typed, "hits": hits[:MOST_FOUND]}
    context["more"] = max(len(hits) - MOST_FOUND, 0)
    return render(request, "office/design/found.html", context)


@require("design.write")
@require_POST
def design_begin(request: HttpRequest, design_id: UUID) -> HttpResponse:
    """An empty line to be filled by hand."""
    actor = acting(request)
    proposal = proposal_for(actor, design_id)
    row = begin_line(proposal=proposal, units=(), name=_("Set by hand"), actor_name=actor.name, now=timezone.now())
    return redirect("design-line", train_id=row.public_id)


@require("design.read", write="design.write")
def design_name(request: HttpRequest, train_id: UUID) -> HttpResponse:
    """Name a line and pin it."""
    actor = acting(request)
    row = train_for(actor, train_id)
    form = NameForm(
        request.POST or None, initial={"own_name": row.own_name, "pinned": row.pinned or not row.own_name}
    )
    if request.method == "POST" and form.is_valid():
        name_line(train=row, actor_name=actor.name, now=timezone.now(), **form.cleaned_data)
        return redirect("design", design_id=row.proposal.public_id)
    context = {"row": row, "site": row.proposal.site, "form": form, "notice": notice_bar(row.proposal.site)}
    return render(request, "office/design/name.html", context, status=422 if form.errors else 200)


@require("design.write")
@require_POST
def design_delete(request: HttpRequest, train_id: UUID) -> HttpResponse:
    """Delete a line from the bench."""
    actor = acting(request)
    row = train_for(actor, train_id)
    try:
        delete_line(train=row, actor_name=actor.name, now=timezone.now())
    except LineRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("Line %(letter)s is deleted. It can be brought back.") % {"letter": row.letter})
    return redirect("design", design_id=row.proposal.public_id)


@require("design.write")
@require_POST
def design_back(request: HttpRequest, train_id: UUID) -> HttpResponse:
    """Bring a deleted line back."""
    actor = acting(request)
    row = bring_back(train=train_for(actor, train_id), actor_name=actor.name, now=timezone.now())
    messages.success(request, _("Line %(letter)s is back on the bench.") % {"letter": row.letter})
    return redirect("design", design_id=row.proposal.public_id)


@require("design.write")
@require_POST
def design_clear(request: HttpRequest, design_id: UUID) -> HttpResponse:
    """Delete every line that is neither pinned nor quoted."""
    actor = acting(request)
    proposal = proposal_for(actor, design_id)
    letters = delete_unpinned(proposal=proposal, actor_name=actor.name, now=timezone.now())
    if letters:
        messages.success(
            request, _("Deleted: %(letters)s. Each can be brought back.") % {"letters": ", ".join(letters)}
        )
    else:
        messages.info(request, _("Nothing to delete: every line is pinned or quoted."))
    return redirect("design", design_id=proposal.public_id)
