"""Who is acting: the user, their dealer and their role."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest

from customers.dealers.models import Dealer
from customers.people.models import Staff, User
from customers.people.permissions import CUSTOMER, allowed
from customers.tenancy.unscoped import as_user


@dataclass(frozen=True)
class Actor:
    """A signed-in person in one dealer. ``site_ids`` are a customer's own sites (primary keys)."""

    user: User
    dealer: Dealer
    role: str
    staff: Staff | None = None
    site_ids: frozenset[int] = field(default_factory=frozenset)

    @property
    def name(self) -> str:
        """How the log names them."""
        return self.staff.name if self.staff else str(self.user)

    @property
    def is_customer(self) -> bool:
        """Whether this is a household's own person."""
        return self.role == CUSTOMER

    def may(self, action: str) -> bool:
        """Whether the role table allows the action."""
        return allowed(self.role, action)

    def must(self, action: str) -> None:
        """Raise ``PermissionDenied`` unless the role table allows the action."""
        if not self.may(action):
            raise PermissionDenied(f"{self.role} may not do {action}")


def actor_for(request: HttpRequest) -> Actor | None:
    """The actor behind a request, ``None`` when nobody (or nobody active) is signed in."""
    user = request.user
    if not user.is_authenticated:
        return None
    return actor_of_user(user, preferred_dealer=request.session.get("dealer"))


def actor_of_user(user: User, *, preferred_dealer: int | None = None) -> Actor | None:
    """The actor a user is: staff first, else a household's own person, else ``None``."""
    from django.apps import apps

    with as_user(user.pk):
        staff = Staff.objects.filter(user=user, active=True).select_related("dealer").first()
        if staff is not None:
            return Actor(user=user, dealer=staff.dealer, role=staff.role, staff=staff)
        access_model = apps.get_model("customers", "HouseholdAccess")
        access = list(access_model.objects.filter(user=user, active=True).select_related("dealer").order_by("pk"))
    if not access:
        return None
    dealer = next((a.dealer for a in access if a.dealer_id == preferred_dealer), access[0].dealer)
    own = frozenset(a.site_id for a in access if a.dealer_id == dealer.pk)
    return Actor(user=user, dealer=dealer, role=CUSTOMER, site_ids=own)
