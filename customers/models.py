"""Models of the app, gathered for Django."""

from customers.causes.models import CauseCorrection
from customers.dealers.models import Counter, Dealer
from customers.enquiries.models import Enquiry, EnquiryAnswer, EnquiryDevice, EnquiryEntry, EnquiryLink, EnquiryPhoto
from customers.flow_tests.models import FlowRun, FlowTest
from customers.households.models import Customer, HouseholdAccess, LogEntry, SignInLink, Site, SiteFixture
from customers.lab_files.models import LabFile, LabFileTest
from customers.laboratories.models import Laboratory, LaboratoryBottle
from customers.observations.models import Observation
from customers.people.models import Staff, User
from customers.samplings.models import DrawAnswer, Sampling, SamplingDraw
from customers.water_tests.models import DrinkNotice, LabReport, Result, WaterTest

__all__ = [
    "CauseCorrection",
    "Counter",
    "Customer",
    "Dealer",
    "DrawAnswer",
    "DrinkNotice",
    "Enquiry",
    "EnquiryAnswer",
    "EnquiryDevice",
    "EnquiryEntry",
    "EnquiryLink",
    "EnquiryPhoto",
    "FlowRun",
    "FlowTest",
    "HouseholdAccess",
    "LabFile",
    "LabFileTest",
    "LabReport",
    "Laboratory",
    "LaboratoryBottle",
    "LogEntry",
    "Observation",
    "Result",
    "Sampling",
    "SamplingDraw",
    "SignInLink",
    "Site",
    "SiteFixture",
    "Staff",
    "User",
    "WaterTest",
]
