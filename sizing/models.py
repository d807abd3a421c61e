"""Models of the app, gathered for Django."""

from sizing.catalogue.models import CatalogueFile, CatalogueItem, ItemLog, ListPrice, PriceList
from sizing.proposals.models import CatalogueCopy, Proposal, ProposedStage, ProposedTrain
from sizing.quotes.models import Quote, QuoteAnswer, QuoteLine
from sizing.redesigns.models import Redesign, RedesignRow

__all__ = [
    "CatalogueCopy",
    "CatalogueFile",
    "CatalogueItem",
    "ItemLog",
    "ListPrice",
    "PriceList",
    "Proposal",
    "ProposedStage",
    "ProposedTrain",
    "Quote",
    "QuoteAnswer",
    "QuoteLine",
    "Redesign",
    "RedesignRow",
]
