"""Copies of the catalogue that designs were asked with: kept once, read from memory after the first time."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import lru_cache
from hashlib import sha256

from django.db import transaction

from customers.dealers.queries import today_at
from sizing.catalogue.models import CatalogueItem
from sizing.catalogue.queries import items, items_by_code, priced
from sizing.engine.design import Product
from sizing.engine.storage import from_data, to_data
from sizing.proposals.models import CatalogueCopy, Proposal

MOST_KEPT = 32  # catalogues held in memory, each a few hundred products


class _Held:
    """Products by the digest of their copy. What is held under a digest is the same whoever asks."""

    def __init__(self) -> None:
        self.read = lru_cache(maxsize=MOST_KEPT)(self._read)

    @staticmethod
    def _read(digest: str) -> tuple[Product, ...]:
        data = CatalogueCopy.objects.values_list("products", flat=True).get(digest=digest)
        return tuple(from_data(Product, row) for row in data)


_held = _Held()


def digest_of(products: Sequence[Product]) -> str:
    """The mark of a list of products: two lists have the same exactly where everything in them is the same."""
    return _digest([to_data(product) for product in products])


def _digest(data: list[object]) -> str:
    return sha256(json.dumps(data, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


@transaction.atomic
def keep_catalogue(*, dealer_id: int, products: Sequence[Product], now: datetime) -> CatalogueCopy:
    """The copy of these products: the one there is, or a new one. Asked twice at once it is made once."""
    data = [to_data(product) for product in products]
    copy, _made = CatalogueCopy.objects.defer("products").get_or_create(
        dealer_id=dealer_id, digest=_digest(data), defaults={"products": data, "made_at": now}
    )
    return copy


def products_of(proposal: Proposal) -> tuple[Product, ...]:
    """What the design could choose from, with the prices of its day."""
    if proposal.catalogue is None:
        return tuple(from_data(Product, row) for row in proposal.request.get("catalogue", ()))
    return _held.read(proposal.catalogue.digest)


def products_by_code(proposal: Proposal, wanted: Iterable[str] = ()) -> dict[str, Product]:
    """The design's products by code; of those ``wanted`` that it did not have, the catalogue's."""
    found = {product.code: product for product in products_of(proposal)}
    new = set(wanted) - set(found)
    if new:
        added = [item for item in items_by_code(new).values() if item.active]
        found |= {product.code: product for product in _of_its_day(proposal, added)}
    return found


def offered(proposal: Proposal) -> tuple[Product, ...]:
    """Everything that may be put into a line of the design: its own products, and what the catalogue gained since."""
    own = products_of(proposal)
    since = items().filter(active=True).exclude(code__in=[product.code for product in own])
    return (*own, *_of_its_day(proposal, since))


def _of_its_day(proposal: Proposal, rows: Iterable[CatalogueItem]) -> list[Product]:
    """Items at the prices of the day the design was made, so that all of its lines cost alike."""
    kept = list(rows)
    return priced(kept, today_at(proposal.dealer, proposal.made_at)) if kept else []
