"""A running demo, as a newcomer gets it, and people signed in to it in Chromium."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, ViewportSize

ROOT = Path(__file__).resolve().parents[2]
#: A desk, a tablet lying on its side, a phone.
VIEWPORTS: dict[str, ViewportSize] = {
    "desk": {"width": 1280, "height": 900},
    "tablet": {"width": 1024, "height": 768},
    "phone": {"width": 390, "height": 844},
}
#: Everything WCAG 2.2 asks at levels A and AA; each version adds a tag of its own.
AXE_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@dataclass
class Demo:
    """A running demo: its address, its state folder, its process and what it has said so far."""

    url: str
    var: Path
    process: subprocess.Popen[str]
    said: list[str]

    def session_of(self, role: str) -> str:
        """Return the key of a new session of the first active person with this role."""
        return manage(self.var, "shell", "-v", "0", "-c", f"ROLE = {role!r}\n" + NEW_SESSION).strip().splitlines()[-1]


NEW_SESSION = """
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from customers.households.models import HouseholdAccess
from customers.people.models import Staff
from customers.tenancy.unscoped import across_dealers
with across_dealers():
    people = HouseholdAccess.objects if ROLE == "customer" else Staff.objects.filter(role=ROLE)
    user = people.filter(active=True).order_by("pk")[0].user
session = SessionStore()
session[SESSION_KEY] = str(user.pk)
session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
session[HASH_SESSION_KEY] = user.get_session_auth_hash()
session.save()
print(session.session_key)
"""


def plain_environment(var: Path, **more: str) -> dict[str, str]:
    """The environment of a new shell: no database, broker or settings of the suite itself."""
    outer = {"DATABASE_URL", "APP_DATABASE_URL", "REDIS_URL", "SECOND_FACTOR", "DJANGO_SETTINGS_MODULE"}
    kept = {name: value for name, value in os.environ.items() if name not in outer}
    return kept | {"TARNHOUSE_VAR": str(var)} | more


def manage(var: Path, *arguments: str) -> str:
    """Run a management command on a demo's state and return what it printed."""
    done = subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT, env=plain_environment(var), capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def start_demo(var: Path, *arguments: str) -> Demo:
    """Start a demo on a free port and wait until it says where it answers."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "manage.py", "serve_demo", *arguments],
        cwd=ROOT, env=plain_environment(var, PORT=str(port)), text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    said: list[str] = []
    assert process.stdout is not None
    for line in process.stdout:
        said.append(line.rstrip("\n"))
        if "Ctrl-C stops everything" in line:
            return Demo(f"http://127.0.0.1:{port}", var, process, said)
    logs = "".join(path.read_text() for path in (var / "log").glob("*.log")) if (var / "log").is_dir() else ""
    process.stdout.close()
    process.wait()
    raise AssertionError("the demo ended before it answered:\n" + "\n".join(said) + "\n" + logs[-4000:])


def stop_demo(demo: Demo, number: int = signal.SIGINT) -> int:
    """Ask a demo to stop as the terminal does, and return its status."""
    if demo.process.poll() is None:
        demo.process.send_signal(number)
    assert demo.process.stdout is not None
    with demo.process.stdout as output:
        demo.said += output.read().splitlines()
    return demo.process.wait(timeout=60)


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    """One demo for the whole suite, from nothing; ``DEMO_STATE`` names a kept state folder to begin quicker from."""
    kept = os.environ.get("DEMO_STATE")
    running = start_demo(Path(kept).resolve() if kept else tmp_path_factory.mktemp("demo"))
    yield running
    assert stop_demo(running) == 0, "\n".join(running.said)


@pytest.fixture(scope="session")
def base_url(demo):
    return demo.url


@pytest.fixture(scope="session")
def browser_type_launch_args():
    chromium = shutil.which("chromium") or pytest.fail("Chromium is not installed: .ci/packages browser")
    return {
        "executable_path": chromium,
        "args": [
            "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--disable-component-update", "--disable-sync",
        ],
    }  # fmt: skip


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args):
    return browser_context_args | {"reduced_motion": "reduce"}


def listen(page: Page) -> list[str]:
    """Collect what the page complains of: script errors, console errors, refused or failed requests."""
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(f"{page.url}: script: {error}"))
    page.on(
        "console",
        lambda message: (
            complaints.append(f"{page.url}: console: {message.text}") if message.type == "error" else None
        ),
    )
    page.on("requestfailed", lambda request: complaints.append(f"{page.url}: request: {request.url}"))
    return complaints


def sign_in_as(role: str, demo: Demo, context: BrowserContext) -> None:
    """Give the browser a session of somebody with this role."""
    context.add_cookies([{"name": "sessionid", "value": demo.session_of(role), "url": demo.url}])


def _page_of(role: str, size: str):
    @pytest.fixture
    def page_of_role(demo, new_context):
        context = new_context(viewport=VIEWPORTS[size])
        sign_in_as(role, demo, context)
        page = context.new_page()
        complaints = listen(page)
        page.goto("/")
        yield page
        assert complaints == []

    return page_of_role


owner_page = _page_of("owner", "desk")
office_page = _page_of("office", "desk")
field_page = _page_of("technician", "tablet")
portal_page = _page_of("customer", "phone")


def axe_findings(page: Page) -> list[str]:
    """Return one line for each thing axe finds against WCAG 2.2 AA on the page as it is now."""
    results = Axe().run(page, options={"runOnly": {"type": "tag", "values": AXE_TAGS}})
    return [
        f"{page.url}: {finding['id']}: {node['html'][:160]} -- {node['failureSummary']}"
        for finding in results.response["violations"]
        for node in finding["nodes"]
    ]


def assert_axe(page: Page) -> None:
    """Fail with axe's own words when it finds anything."""
    assert axe_findings(page) == []


def assert_fits(page: Page) -> None:
    """Fail when the page must be pushed sideways to be read."""
    wide, window = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert wide <= window, f"{page.url}: {wide} px wide in a window of {window} px"
