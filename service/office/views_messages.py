"""The outbox at the desk: what was said, what waits, what did not go and why."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from customers.people.gate import acting, require
from service.reminders.actions import MessageRefused, drop_message, retry_message
from service.reminders.models import MessageState, Suppression
from service.reminders.queries import NEEDS_A_PERSON, counts, message_for, outbox, rule_words

PER_PAGE = 50
PERSON = "person"


@require("message.read")
def message_list(request: HttpRequest) -> HttpResponse:
    """Messages, newest first; ``?state=person`` gives those that need one, else one state."""
    state = request.GET.get("state", "")
    rows = outbox(acting(request))
    if state == PERSON:
        rows = rows.filter(state__in=NEEDS_A_PERSON)
    elif state in MessageState.values:
        rows = rows.filter(state=state)
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    found = counts()
    context = {
        "page": page,
        "listed": [(row, rule_words(row.rule)) for row in page],
        "state": state,
        "states": [(code, label, found[code]) for code, label in MessageState.choices if code in found],
        "person": sum(found.get(code, 0) for code in NEEDS_A_PERSON),
        "suppressed": list(Suppression.objects.order_by("address")[:PER_PAGE]),
    }
    return render(request, "office/jobs/messages.html", context)


@require("message.write")
@require_POST
def message_retry(request: HttpRequest, message_id: UUID) -> HttpResponse:
    """Let a message that failed or is held go out."""
    actor = acting(request)
    try:
        retry_message(message=message_for(actor, message_id), actor_name=actor.name, now=timezone.now())
    except MessageRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("It goes out with the next post."))
    return redirect("messages")


@require("message.write")
@require_POST
def message_drop(request: HttpRequest, message_id: UUID) -> HttpResponse:
    """Decide that a message is not sent."""
    actor = acting(request)
    try:
        drop_message(message=message_for(actor, message_id), actor_name=actor.name, now=timezone.now())
    except MessageRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("It is not sent."))
    return redirect("messages")
