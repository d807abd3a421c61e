"""Models of the app, gathered for Django."""

from sizing.catalogue.models import CatalogueItem
from sizing.proposals.models import CatalogueCopy, Proposal, ProposedStage, ProposedTrain
from sizing.quotes.models import Quote, QuoteAnswer, QuoteLine

__all__ = [
    "CatalogueCopy",
    "CatalogueItem",
    "Proposal",
    "ProposedStage",
    "ProposedTrain",
    "Quote",
    "QuoteAnswer",
    "QuoteLine",
]
