"""Every role rule of the product, in one table.

``RULES`` maps an action to the roles that may do it. "customer" means: for their own household only;
"technician" on a household means: only where they have a job (the getters narrow the rows).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

OWNER, OFFICE, TECHNICIAN, CUSTOMER = "owner", "office", "technician", "customer"
DESK = frozenset({OWNER, OFFICE})
CREW = frozenset({OWNER, OFFICE, TECHNICIAN})
EVERYONE = frozenset({OWNER, OFFICE, TECHNICIAN, CUSTOMER})

RULES: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        # households and evidence
        "household.list": DESK,
        "household.read": CREW,
        "household.write": DESK,
        "enquiry.read": DESK,
        "enquiry.write": DESK,
        "observation.write": CREW,
        "water_test.write": CREW,
        "flow_test.write": CREW,
        "notice.write": DESK,
        "causes.read": DESK,
        "causes.write": DESK,
        # samplings and laboratories
        "sampling.read": CREW,
        "sampling.write": DESK,
        "sampling.draw": CREW,
        "laboratory.read": DESK,
        "laboratory.write": DESK,
        "lab_file.read": DESK,
        "lab_file.write": DESK,
        # sizing
        "design.read": DESK,
        "design.write": DESK,
        "catalogue.read": DESK,
        "catalogue.write": frozenset({OWNER}),
        "quote.read": DESK,
        "quote.write": DESK,
        # work
        "job.read": DESK,
        "job.write": DESK,
        "field.read": CREW,
        "field.write": CREW,
        "stage.write": CREW,
        "paper.read": CREW,
        "paper.download": EVERYONE,
        "message.read": DESK,
        "message.write": DESK,
        # the dealer
        "dealer.write": frozenset({OWNER}),
        "staff.write": frozenset({OWNER}),
        # the household's own pages
        "portal.read": frozenset({CUSTOMER}),
        "portal.answer_quote": frozenset({CUSTOMER}),
        "portal.write": frozenset({CUSTOMER}),
    }
)


def allowed(role: str, action: str) -> bool:
    """Whether ``role`` may do ``action``; ``KeyError`` for an action that is not in the table."""
    return role in RULES[action]
