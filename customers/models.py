"""Models of the app, gathered for Django."""

from customers.dealers.models import Counter, Dealer
from customers.flow_tests.models import FlowRun, FlowTest
from customers.households.models import Customer, HouseholdAccess, LogEntry, SignInLink, Site, SiteFixture
from customers.observations.models import Observation
from customers.people.models import Staff, User
from customers.water_tests.models import DrinkNotice, Result, WaterTest

__all__ = [
    "Counter",
    "Customer",
    "Dealer",
    "DrinkNotice",
    "FlowRun",
    "FlowTest",
    "HouseholdAccess",
    "LogEntry",
    "Observation",
    "Result",
    "SignInLink",
    "Site",
    "SiteFixture",
    "Staff",
    "User",
    "WaterTest",
]
