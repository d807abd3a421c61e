"""The tools around the product: targets, scripts, locks, containers, and what the tree may hold."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = ("run", "checks", "venv", "packages", "with-services", "pg.sh", "redis.sh")
LOCKS = ("requirements.lock", "requirements-dev.lock", ".ci/uv.lock")
TARGETS = (
    "help", "demo", "demo-reset", "test", "check", "stack", "browser", "bench", "mutants", "shots", "lock"
)  # fmt: skip
TOP = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "manage.py", "docker-compose.yml", "Makefile",
    "Dockerfile", "requirements.lock", "requirements-dev.lock",
    "service", "customers", "sizing", "templates", "tests",
}  # fmt: skip


def tree() -> list[Path]:
    """Every file that is, or is about to be, under version control."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    return [Path(name) for name in listed.split("\0") if name and (ROOT / name).is_file()]


# The tree -------------------------------------------------------------------------------------------------


def test_the_top_level_reads_like_the_work():
    top = {path.parts[0] for path in tree()}
    assert {name for name in top - TOP if not name.startswith(".")} == set()
    assert {"pyproject.toml", "manage.py", "Makefile", "service", "customers", "sizing", "tests"} <= top


#: Written so that this file does not match itself.
FOREIGN = {
    "a folder of somebody's machine": re.compile(r"(?<![\w.])/(?:work|root|Users)/\w"),
    "a folder beside the project": re.compile(r"\.\./(?:shared|reference|design)\b"),
    "a package registry": re.compile(r"pypi[.]org|pythonhosted[.]org|registry[.]npmjs"),
    "an issue number": re.compile(r"\bissue #?\d", re.IGNORECASE),
}


def test_the_tree_stands_alone():
    found = []
    for path in tree():
        if path.suffix in {".png", ".ico", ".woff2", ".pdf", ".jpg", ".xlsx"} or path.name in LOCKS:
            continue
        text = (ROOT / path).read_text(errors="replace")
        found += [f"{path}: {what}: {hit[0]}" for what, rule in FOREIGN.items() for hit in rule.finditer(text)]
    assert found == []


def test_no_state_is_under_version_control():
    kept = [str(path) for path in tree() if path.parts[0] == "var" or path.suffix in {".sqlite3", ".pyc", ".log"}]
    assert kept == []


# The locks ------------------------------------------------------------------------------------------------


def pinned(lock: str) -> dict[str, str]:
    """Name and version of each requirement of a lock, failing on any line of another kind."""
    found: dict[str, str] = {}
    hashes: dict[str, int] = {}
    name = ""
    for line in (ROOT / lock).read_text().splitlines():
        if pin := re.fullmatch(r"([a-z0-9._-]+)==([^ ;]+)(?: ; .+)? \\", line):
            name = pin[1]
            assert name not in found, f"{lock}: {name} twice"
            found[name], hashes[name] = pin[2], 0
        else:
            assert re.fullmatch(r"    --hash=sha256:[0-9a-f]{64}(?: \\)?", line), f"{lock}: {line!r}"
            hashes[name] += 1
    assert all(hashes.values())
    return found


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_holds_names_versions_and_hashes_only(lock):
    assert pinned(lock)


def test_the_dev_lock_holds_the_run_time_lock():
    run, dev = pinned("requirements.lock"), pinned("requirements-dev.lock")
    assert {name: version for name, version in run.items() if dev.get(name) != version} == {}


def test_every_requirement_of_the_project_is_locked():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    for wanted, lock in (
        (project["dependencies"], "requirements.lock"),
        (project["optional-dependencies"]["dev"], "requirements-dev.lock"),
    ):
        names = {re.match(r"[A-Za-z0-9._-]+", line)[0].lower().replace("_", "-") for line in wanted}
        assert names - set(pinned(lock)) == set()


# The targets and scripts ----------------------------------------------------------------------------------


def test_make_knows_each_target_and_says_what_it_does():
    makefile = (ROOT / "Makefile").read_text()
    assert set(re.findall(r"^([a-z-]+):.*## \S", makefile, re.MULTILINE)) == set(TARGETS)
    phony = re.search(r"^\.PHONY: (.+)$", makefile, re.MULTILINE)
    assert set(phony[1].split()) == set(TARGETS)


@pytest.mark.parametrize("target", TARGETS)
def test_make_can_plan_each_target(target):
    plan = subprocess.run(
        ["make", "-n", target], cwd=ROOT, capture_output=True, text=True, check=True, env=clean_environment()
    ).stdout
    for script in re.findall(r"(?<![\w/])\.ci/[\w.-]+", plan):
        assert os.access(ROOT / script, os.X_OK), script


def test_make_passes_the_port_on():
    probe = "include Makefile\nprobe:\n\t@echo port $$PORT\n"
    for arguments, port in (([], "8000"), (["PORT=8123"], "8123")):
        said = subprocess.run(
            ["make", "-s", "-f", "-", "probe", *arguments],
            input=probe, cwd=ROOT, capture_output=True, text=True, check=True, env=clean_environment(),
        ).stdout  # fmt: skip
        assert said.strip() == f"port {port}"


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_script_is_whole_strict_and_executable(script):
    path = ROOT / ".ci" / script
    text = path.read_text()
    assert os.access(path, os.X_OK)
    assert text.startswith("#!/usr/bin/env bash\n")
    assert "\nset -euo pipefail\n" in text
    subprocess.run(["bash", "-n", str(path)], check=True)


def test_the_whole_run_leaves_nothing_out_and_forgives_nothing():
    text = (ROOT / ".ci/run").read_text()
    assert re.findall(r"^step .* make ([a-z]+)$", text, re.MULTILINE) == ["test", "check", "stack", "browser"]
    assert "|| true" not in text
    checks = (ROOT / ".ci/checks").read_text()
    for tool in ("ruff check .", "ruff format --check .", "mypy", "lint-imports", "makemigrations --check",
                 "check --deploy --fail-level WARNING"):  # fmt: skip
        assert tool in checks


def clean_environment() -> dict[str, str]:
    """The environment without what an outer make leaves in it."""
    return {
        name: value for name, value in os.environ.items() if name not in {"MAKEFLAGS", "MAKELEVEL", "MFLAGS", "PORT"}
    }


@pytest.fixture
def bare_machine(tmp_path):
    """A PATH with the plain tools only: no Chromium, no package manager; and who we are can be chosen."""
    folder = tmp_path / "bin"
    folder.mkdir()
    for tool in ("bash", "env", "uname", "sort", "grep", "ls", "cat"):
        (folder / tool).symlink_to(shutil.which(tool))

    def add(name: str, body: str) -> None:
        (folder / name).write_text(f"#!/usr/bin/env bash\n{body}\n")
        (folder / name).chmod(0o755)

    add("id", "echo 1000")

    def packages(*arguments: str):
        return subprocess.run(
            [str(ROOT / ".ci/packages"), *arguments],
            capture_output=True, text=True, check=False, env={"PATH": str(folder)},
        )  # fmt: skip

    packages.add = add
    return packages


def test_missing_packages_are_named_with_the_line_that_installs_them(bare_machine):
    said = bare_machine("browser", "papers-test")
    assert said.returncode == 3
    assert "missing Debian packages: chromium poppler-utils" in said.stderr
    assert "apt-get install -y --no-install-recommends chromium poppler-utils" in said.stderr
    assert "no apt-get" in said.stderr


def test_only_root_installs(bare_machine):
    bare_machine.add("apt-get", "echo called >&2; exit 9")
    said = bare_machine("browser")
    assert said.returncode == 3
    assert "needs root" in said.stderr
    assert "called" not in said.stderr


def test_lenient_reports_and_goes_on(bare_machine):
    said = bare_machine("--lenient", "browser")
    assert said.returncode == 0
    assert "missing Debian packages: chromium" in said.stderr


def test_root_installs_only_what_is_missing(bare_machine, tmp_path):
    bare_machine.add("id", "echo 0")
    bare_machine.add("pdftoppm", "exit 0")
    bare_machine.add("apt-get", f'echo "$@" >>{tmp_path}/calls')
    said = bare_machine("browser", "papers-test")
    assert said.returncode == 0, said.stderr
    assert (tmp_path / "calls").read_text().splitlines() == [
        "update -q",
        "install -y -q --no-install-recommends chromium",
    ]


def test_a_failed_installation_is_a_failure(bare_machine):
    bare_machine.add("id", "echo 0")
    bare_machine.add("apt-get", "exit 100")
    said = bare_machine("browser")
    assert said.returncode == 3
    assert "apt-get failed" in said.stderr


@pytest.mark.parametrize(("script", "word"), [("packages", "paper"), ("venv", "all")])
def test_a_word_a_script_does_not_know_is_refused_with_those_it_does(script, word):
    said = subprocess.run([str(ROOT / ".ci" / script), word], capture_output=True, text=True, check=False)
    assert said.returncode == 2
    assert f"'{word}' is not" in said.stderr
