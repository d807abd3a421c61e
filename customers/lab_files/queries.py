"""Reads of laboratories' files."""

from __future__ import annotations

from uuid import UUID

from django.db.models import Count, QuerySet

from customers.lab_files.models import LabFile, LabFileState, LabFileTest
from customers.tenancy.getters import get_public
from customers.water_tests.models import WaterTest


def lab_files() -> QuerySet[LabFile]:
    """Every file, newest first, with the number of tests that came of it (``counted``)."""
    return (
        LabFile.objects.select_related("laboratory").annotate(counted=Count("tests")).order_by("-uploaded_at", "-pk")
    )


def waiting_files() -> QuerySet[LabFile]:
    """Files not yet taken in, the oldest first."""
    rows = LabFile.objects.filter(state=LabFileState.WAITING).select_related("laboratory")
    return rows.order_by("uploaded_at", "pk")


def lab_file_for(public_id: UUID | str) -> LabFile:
    """One file; else 404."""
    found: LabFile = get_public(LabFile.objects.select_related("laboratory__dealer"), public_id)
    return found


def tests_in(lab_file: LabFile) -> list[LabFileTest]:
    """The tests a file became, each with its household."""
    return list(lab_file.tests.select_related("test__site__customer", "test__site__dealer"))


def file_of_test(test: WaterTest) -> LabFile | None:
    """The file a test came out of, if any."""
    row = LabFileTest.objects.filter(test=test).select_related("lab_file").first()
    return row.lab_file if row else None
