"""Every figure names its word: a status, a place it stands in, a unit; and what is used exists."""

import re
import tomllib
from pathlib import Path

import pytest

import sizing.engine
from sizing.engine.figures import FOLDER, documents, figure, figures_version
from sizing.engine.worksheet import STATUSES

USE = re.compile(r'figure\(\s*"([a-z0-9-]+)",\s*"([a-z0-9_]+)"')


def _rows():
    for name in documents():
        with (FOLDER / f"{name}.toml").open("rb") as handle:
            data = tomllib.load(handle)
        for key in data["figures"]:
            yield name, key


@pytest.mark.parametrize("name", documents())
def test_every_document_says_where_it_comes_from(name):
    with (FOLDER / f"{name}.toml").open("rb") as handle:
        source = tomllib.load(handle)["source"]
    assert source["title"]
    assert source["status"] in STATUSES
    assert {"publisher", "edition"} <= set(source)


def test_every_figure_has_a_status_and_a_value():
    found = list(_rows())
    assert len(found) > 150
    for name, key in found:
        row = figure(name, key)
        assert row.status in STATUSES, (name, key)
        assert row.value not in ("", [], {}), (name, key)


def test_a_published_figure_names_a_document_or_a_table():
    bare = [(n, k) for n, k in _rows() if figure(n, k).status == "published" and not figure(n, k).citation]
    assert bare == []


def test_what_the_engine_reads_by_name_exists():
    known = set(_rows())
    engine = Path(sizing.engine.__file__).parent
    used = {pair for path in engine.rglob("*.py") for pair in USE.findall(path.read_text())}
    assert len(used) > 20
    assert used <= known


def test_the_version_of_the_figures_is_short_and_stable():
    assert figures_version() == figures_version()
    assert re.fullmatch(r"[0-9a-f]{12}", figures_version())
