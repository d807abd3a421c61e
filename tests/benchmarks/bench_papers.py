"""Speed of the papers: run with ``make bench``, never part of the suite.

Processor time of a warm process, so that neighbours count little. Figures wanted on a quiet core: a quote 0.6 s,
an install sheet 1.0 s, the notice 0.2 s.
"""

from __future__ import annotations

import time
from datetime import date, datetime
from typing import Any

import pytest

from service.documents.render import render_pdf
from tests.documents.drafted import every_html


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("kind", ["quote", "install_sheet", "water_report", "worksheet", "notice"])
def test_rendering(benchmark: Any, kind: str, site: Any, now: datetime, today: date) -> None:
    html = every_html(site, now, today)[kind]
    render_pdf(html)
    pdf = benchmark.pedantic(render_pdf, args=(html,), rounds=5)
    assert pdf.pages >= 1
    benchmark.extra_info["pages"] = pdf.pages
