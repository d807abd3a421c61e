"""A dealer's shelf for the tests: a few starter items, loaded as the product loads them."""

from sizing.catalogue.actions import load_starter
from sizing.catalogue.models import CatalogueItem
from sizing.engine.stages.starter import load_starter as starter_products

FEW = ("uv-a-42", "sed-20x45-5-spun", "soft-42", "restrict-30", "carb-20x45", "carb-12", "ro-75-cert", "jacket-120")
WHO = "Una Owner"


def shelf(dealer, codes=FEW):
    """The items of those codes, by code."""
    load_starter(dealer=dealer, products=tuple(p for p in starter_products() if p.code in codes))
    return {item.code: item for item in CatalogueItem.objects.all()}
