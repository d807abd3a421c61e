"""Reading installs, stages and parts."""

from __future__ import annotations

from django.db.models import QuerySet

from customers.households.models import Site
from service.installs.models import FittedPart, Install, InstalledStage, StageState


def current_stages(site: Site) -> QuerySet[InstalledStage]:
    """Every stage of the site that is not retired, in order."""
    return InstalledStage.objects.filter(site=site).exclude(state=StageState.RETIRED).order_by("position")


def standing_stages(site: Site) -> list[InstalledStage]:
    """The stages that make the path now, with parts and install: those on the wall, else those agreed.

    A new install shows only once it is commissioned, where an older one still stands; what was found stands.
    """
    rows = list(current_stages(site).select_related("install__quote__train").prefetch_related("parts"))
    for row in rows:  # known already: not asked for again, stage by stage
        row.site, row.dealer = site, site.dealer
    on_the_wall = [row for row in rows if row.state != StageState.FITTED or row.found_on is not None]
    return on_the_wall or rows


def newest_install(site: Site) -> Install | None:
    """The newest commissioned install of a site."""
    return Install.objects.filter(site=site).exclude(commissioned_on=None).order_by("-number").first()


def unproven(site: Site) -> Install | None:
    """The newest commissioned install when no laboratory has proved it yet: "not yet proven"."""
    install = newest_install(site)
    return install if install is not None and install.proven_on is None else None


def wearing_parts(site: Site) -> QuerySet[FittedPart]:
    """Parts of stages in service or laid up, with their stage."""
    return (
        FittedPart.objects.filter(stage__site=site, stage__state__in=[StageState.IN_SERVICE, StageState.LAID_UP])
        .exclude(renewed_on=None)
        .select_related("stage")
        .order_by("stage__position", "pk")
    )
