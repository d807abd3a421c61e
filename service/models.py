"""Models of the app, gathered for Django."""

from service.documents.models import Paper
from service.installs.models import FittedPart, Install, InstalledStage, PartRenewal
from service.jobs.models import Job, JobCrew, JobPart, JobTask
from service.reminders.models import Message, Suppression
from service.upkeep.models import Tick

__all__ = [
    "FittedPart",
    "Install",
    "InstalledStage",
    "Job",
    "JobCrew",
    "JobPart",
    "JobTask",
    "Message",
    "Paper",
    "PartRenewal",
    "Suppression",
    "Tick",
]
