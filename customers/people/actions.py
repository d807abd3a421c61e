"""Writes about staff."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import IntegrityError, transaction

from customers.dealers.models import Dealer
from customers.people.models import Role, Staff, User


class StaffRefused(ValueError):
    """A change of staff that cannot be; says what would do."""


@transaction.atomic
def add_staff(
    *, dealer: Dealer, email: str, name: str, role: str, phone: str = "", password: str | None = None
) -> Staff:
    """Add a person to the dealer's staff; a user is made if there is none.

    Without a password they set one by the mailed reset. Raises ``StaffRefused`` for an address that cannot be
    one, an unknown role, or somebody who already is staff.
    """
    address = email.strip().lower()
    try:
        validate_email(address)
    except ValidationError:
        raise StaffRefused(f"e-mail is {email!r}, accepted is an address such as name@mail.example") from None
    if role not in Role.values:
        raise StaffRefused(f"role is {role!r}, accepted is one of {', '.join(Role.values)}")
    if not name.strip():
        raise StaffRefused("name is empty, accepted is the person's name")
    user = User.objects.filter(email=address).first() or User.objects.create_user(address, password)
    if Staff.objects.filter(user=user).exists():
        raise StaffRefused(f"{address} is on the staff already; change the row that is there")
    try:
        with transaction.atomic():
            return Staff.objects.create(dealer=dealer, user=user, name=name.strip(), role=role, phone=phone)
    except IntegrityError:
        raise StaffRefused(f"{address} cannot be added; accepted is an address used for nothing else here") from None


@transaction.atomic
def change_staff(*, staff: Staff, name: str, role: str, phone: str, active: bool) -> Staff:
    """Change a person's name, role and phone, or end (and begin again) their access.

    The last active owner stays an active owner: raises ``StaffRefused``.
    """
    was_owner = Staff.objects.filter(pk=staff.pk, role=Role.OWNER, active=True).exists()
    if was_owner and (role != Role.OWNER or not active):
        others = Staff.objects.filter(role=Role.OWNER, active=True).exclude(pk=staff.pk)
        if not others.exists():
            raise StaffRefused(f"{staff.name} is the only owner; make somebody else an owner first")
    staff.name, staff.role, staff.phone, staff.active = name.strip(), role, phone, active
    staff.full_clean()
    staff.save()
    return staff
