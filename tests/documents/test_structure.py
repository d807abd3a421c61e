"""Structure of the PDFs: ISO 14289-1:2014 (PDF/UA-1), clauses from memory, read back with pikepdf."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from datetime import date, datetime
from io import BytesIO
from typing import Any

import pikepdf
import pytest

from service.documents.models import PaperKind
from service.documents.render import MOST_HTML_BYTES, PaperTooLarge, Pdf, render_pdf
from sizing.drawing.papers import sheet_rules
from sizing.drawing.signs import SIGNS, UnknownSign, sign_svg
from sizing.engine.stages.practice_text import _file
from tests.documents.drafted import every_html


@pytest.fixture
def papers(site: Any, now: datetime, today: date) -> dict[str, str]:
    """HTML of every kind of paper."""
    return every_html(site, now, today)


def elements(node: Any) -> Iterator[Any]:
    """Every structure element under a node."""
    kids = node.get("/K", [])
    for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from elements(kid)


def read(pdf: Pdf) -> pikepdf.Pdf:
    return pikepdf.open(BytesIO(pdf.data))


def test_every_kind_has_a_paper(papers: dict[str, str]) -> None:
    assert set(papers) == set(PaperKind.values)


TABLED = (
    "quote", "install_sheet", "worksheet", "water_report", "commissioning", "closing", "opening", "sampling_sheet",
    "custody",
)  # fmt: skip


def test_every_paper_is_tagged_titled_and_in_a_language(papers: dict[str, str]) -> None:
    """7.1: marked, with a title that is shown, claimed in XMP. 7.2: a language. 7.3: figures have words.

    7.5: tables are tables of rows, each with cells that head its columns or rows.
    """
    for kind, html in papers.items():
        made = render_pdf(html)
        pdf = read(made)
        root = pdf.Root
        assert len(pdf.pages) == made.pages, kind
        assert bool(root.MarkInfo.Marked), kind
        assert bool(root.ViewerPreferences.DisplayDocTitle), kind
        assert str(root.Lang) == "en", kind
        with pdf.open_metadata() as meta:
            assert meta["pdfuaid:part"] == "1", kind
            assert re.search(r"[A-Z]-", str(meta["dc:title"])), kind
        found = list(elements(root.StructTreeRoot))
        names = [str(element.S) for element in found]
        assert names.count("/H1") == 1, kind
        figures = [element for element in found if str(element.S) == "/Figure"]
        assert figures, kind
        assert all(str(figure.get("/Alt", "")).strip() for figure in figures), kind
        tables = [element for element in found if str(element.S) == "/Table"]
        assert bool(tables) == (kind in TABLED), kind
        for table in tables:
            assert {"/TR", "/TH", "/TD"} <= {str(element.S) for element in elements(table)}, kind


def test_every_page_carries_the_title_block(papers: dict[str, str]) -> None:
    """The title block is set once, before the words, and runs at the foot of each page with "page of pages"."""
    for kind, html in papers.items():
        assert html.count('class="foot-run"') == 1, kind
        assert html.index('class="foot-run"') < html.index("<h1"), kind
    assert 'counter(page) " of " counter(pages)' in sheet_rules()


def test_the_same_words_make_the_same_bytes(papers: dict[str, str]) -> None:
    for kind in ("quote", "labels"):
        first = render_pdf(papers[kind]).data
        assert render_pdf(papers[kind]).data == first, kind
        other: list[bytes] = []
        thread = threading.Thread(target=lambda: other.append(render_pdf(papers[kind]).data))  # noqa: B023
        thread.start()
        thread.join()
        assert other == [first], f"{kind}: a press of its own prints otherwise"


def test_no_paper_claims_safety_and_the_notice_leads(papers: dict[str, str]) -> None:
    for kind, html in papers.items():
        assert "safe to drink" not in html.lower(), kind
    for kind in ("quote", "install_sheet", "water_report", "closing", "opening", "commissioning"):
        html = papers[kind]
        assert html.index('class="note"') < html.index("<figure"), kind


def test_every_caution_has_its_sign_beside_words() -> None:
    assert set(SIGNS) == set(_file("cautions"))
    for code in SIGNS:
        svg = sign_svg(code)
        assert svg.index("<title>") < svg.index("<path")
        assert 'stroke-width="2.2"' in svg
    with pytest.raises(UnknownSign, match="'lightning', accepted is one of pressure"):
        sign_svg("lightning")


def test_more_text_than_a_paper_has_is_refused() -> None:
    with pytest.raises(PaperTooLarge, match=f"accepted is at most {MOST_HTML_BYTES}"):
        render_pdf("x" * (MOST_HTML_BYTES + 1))
