"""The laboratory's own PDF: looked at before it is kept, and kept as it came."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from datetime import datetime

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils.translation import gettext as _

from customers.households.log import add_log
from customers.households.models import Site
from customers.water_tests.models import LabReport, WaterTest

MOST_BYTES = 10_000_000
#: Names in a PDF that make it run something or carry other files; escaped spellings (#4A) are undone first.
RUNS = (b"/JavaScript", b"/JS", b"/Launch", b"/EmbeddedFile", b"/EmbeddedFiles", b"/RichMedia", b"/XFA")
_NAME = re.compile(rb"/[^\s/\[\]<>(){}%]+")
_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")


class ReportRefused(ValueError):
    """A PDF was not kept; the sentence says what was found and what is accepted."""


def check_pdf(data: bytes) -> None:
    """Raise ``ReportRefused`` unless the bytes are a whole, open PDF without programs or files inside.

    Only what stands in the open is seen: a name hidden in a packed stream is not, which is why the file is
    never shown in place, only handed out as a file.
    """
    if not data:
        raise ReportRefused(_("an empty file; accepted is a PDF"))
    if len(data) > MOST_BYTES:
        told = _("%(mb)s MB; accepted is a PDF of at most %(most)s MB")
        raise ReportRefused(told % {"mb": f"{len(data) / 1e6:.1f}", "most": f"{MOST_BYTES / 1e6:g}"})
    if not re.match(rb"%PDF-[12]\.\d", data):
        raise ReportRefused(_("no PDF by its first bytes; accepted is a PDF"))
    if b"%%EOF" not in data[-2048:] or b"startxref" not in data[-2048:]:
        raise ReportRefused(_("a PDF that is not whole; accepted is the whole file"))
    names = {_ESCAPE.sub(lambda found: bytes([int(found[1], 16)]), name) for name in _NAME.findall(data)}
    if b"/Encrypt" in names:
        raise ReportRefused(_("a locked PDF; accepted is one without a password"))
    held = sorted(name.decode("latin-1") for name in names if name in RUNS)
    if held:
        told = _("a PDF with programs or files inside (%(names)s); accepted is a plain one, printed to PDF once more")
        raise ReportRefused(told % {"names": ", ".join(held)})


@transaction.atomic
def attach_report(
    *, site: Site, tests: Iterable[WaterTest], filename: str, data: bytes, actor_name: str, now: datetime
) -> LabReport:
    """Keep a laboratory's PDF with the tests it reports; the same bytes of a household are kept once.

    Raises ``ReportRefused`` for what is no plain PDF, or a test of another household.
    """
    rows = list(tests)
    if not rows or any(row.site_id != site.pk for row in rows):
        raise ReportRefused(_("no test of this household chosen"))
    check_pdf(data)
    digest = hashlib.sha256(data).hexdigest()
    report = LabReport.objects.filter(site=site, sha256=digest).first()
    if report is None:
        report = LabReport(
            dealer_id=site.dealer_id,
            site=site,
            name=filename,
            sha256=digest,
            size=len(data),
            added_by=actor_name,
            added_at=now,
        )
        report.file.save(f"{site.dealer.public_id}/{report.public_id}.pdf", ContentFile(data), save=False)
        report.save()
        add_log(site=site, who=actor_name, what=_("laboratory's paper kept: %(name)s") % {"name": filename}, at=now)
    WaterTest.objects.filter(pk__in=[row.pk for row in rows]).update(report=report)
    return report
