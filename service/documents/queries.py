"""Reading papers."""

from __future__ import annotations

from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet

from customers.households.models import Site
from customers.households.queries import sites_for
from customers.people.actors import Actor
from customers.people.permissions import TECHNICIAN
from customers.tenancy.getters import get_public
from service.documents.models import Paper


def papers_of(site: Site, *, for_customer: bool = False) -> QuerySet[Paper]:
    """A household's papers, newest first."""
    rows = Paper.objects.filter(site=site)
    return rows.filter(for_customer=True) if for_customer else rows


def paper_for(actor: Actor, public_id: UUID) -> Paper:
    """One paper: any for the desk, those of their sites for technicians, their own for customers; else 404."""
    rows = Paper.objects.select_related("site", "dealer")
    if actor.is_customer:
        return get_public(rows.filter(site_id__in=actor.site_ids, for_customer=True), public_id)
    if not actor.may("paper.read"):
        raise PermissionDenied("papers are for staff and for the household")
    if actor.role == TECHNICIAN:
        rows = rows.filter(site__in=sites_for(actor))
    return get_public(rows, public_id)


def papers_about(site: Site, about: UUID) -> QuerySet[Paper]:
    """Papers made from one row of a household, newest first."""
    return Paper.objects.filter(site=site, about=about)


def newest_paper(site: Site, kind: str, about: UUID) -> Paper | None:
    """The newest paper of a kind made from one row."""
    return Paper.objects.filter(site=site, kind=kind, about=about).order_by("-version").first()
