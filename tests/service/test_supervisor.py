"""The supervisor, with real child processes: restarts, clean stops, and nobody left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from service.supervisor import Program, Supervisor, log_tail

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(autouse=True)
def _keep_signal_handlers():
    numbers = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
    before = {number: signal.getsignal(number) for number in numbers}
    yield
    for number, handler in before.items():
        signal.signal(number, handler)


def python(source: str) -> list[str]:
    return [sys.executable, "-c", source]


def alive(pid: int) -> bool:
    """Whether the process runs; a zombie its parent has not collected yet does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def wait_for(true, seconds=10.0):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():
            return True
        time.sleep(0.02)
    return False


def test_a_child_that_ends_is_started_again_and_the_pause_grows(tmp_path):
    lines: list[str] = []
    counter = tmp_path / "starts"
    source = f"open({str(counter)!r}, 'a').write('x')"
    supervisor = Supervisor([Program("brief", python(source), tmp_path / "brief.log")], lines.append)
    supervisor.start()
    try:
        assert supervisor.watch(until=lambda: counter.exists() and len(counter.read_text()) == 3, seconds=15)
    finally:
        supervisor.stop()
    pauses = [line.split(" in ")[1].split(" s")[0] for line in lines if "starting it again" in line]
    assert pauses[:2] == ["1", "2"]
    assert "status 0" in lines[0]
    assert str(tmp_path / "brief.log") in lines[0]


def test_stop_ends_grandchildren_that_ignore_the_request(tmp_path):
    note = tmp_path / "grandchild"
    source = (
        "import subprocess, sys, time\n"
        "stubborn = 'import signal,time; signal.signal(15, signal.SIG_IGN); time.sleep(60)'\n"
        f"open({str(note)!r}, 'w').write(str(subprocess.Popen([sys.executable, '-c', stubborn]).pid) + '.')\n"
        "time.sleep(60)\n"
    )
    supervisor = Supervisor([Program("parent", python(source), tmp_path / "p.log")], lambda line: None)
    supervisor.start()
    try:
        assert wait_for(lambda: note.exists() and note.read_text().endswith("."))
    finally:
        assert supervisor.stop()
    assert wait_for(lambda: not alive(int(note.read_text().rstrip("."))))


def test_a_child_that_will_not_end_is_killed_and_named(tmp_path):
    lines: list[str] = []
    ready = tmp_path / "ready"
    source = (
        f"import signal, time; signal.signal(15, signal.SIG_IGN); open({str(ready)!r}, 'w').close(); time.sleep(60)"
    )
    supervisor = Supervisor(
        [Program("stubborn", python(source), tmp_path / "s.log")], lines.append, grace_seconds=0.5
    )
    supervisor.start()
    assert wait_for(ready.exists)
    pid = supervisor.pids()["stubborn"]
    assert supervisor.stop() is False
    assert not alive(pid)
    assert lines == ["stubborn did not end in 0.5 s and was killed"]


HOLDER = """
import sys
from pathlib import Path
from service.supervisor import Program, Supervisor
folder = Path(sys.argv[1])
sleeper = [sys.executable, "-c", "import time; time.sleep(60)"]
programs = [Program(name, sleeper, folder / f"{name}.log") for name in ("web", "worker", "beat")]
supervisor = Supervisor(programs, print)
supervisor.start()
(folder / "pids.part").write_text(" ".join(map(str, supervisor.pids().values())))
(folder / "pids.part").rename(folder / "pids")
supervisor.watch()
sys.exit(0 if supervisor.stop() else 1)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc and needs the kernel's parent-death signal")
@pytest.mark.parametrize(
    ("number", "status"),
    [(signal.SIGINT, 0), (signal.SIGTERM, 0), (signal.SIGHUP, 0), (signal.SIGKILL, -signal.SIGKILL)],
)
def test_no_child_outlives_the_supervisor(tmp_path, number, status):
    holder = subprocess.Popen([sys.executable, "-c", HOLDER, str(tmp_path)], cwd=ROOT)
    try:
        assert wait_for((tmp_path / "pids").exists)
        pids = [int(pid) for pid in (tmp_path / "pids").read_text().split()]
        assert all(alive(pid) for pid in pids)
        assert all(os.getpgid(pid) == pid for pid in pids)
        holder.send_signal(number)
        assert holder.wait(timeout=15) == status
    finally:
        holder.kill()
        holder.wait()
    assert wait_for(lambda: not any(alive(pid) for pid in pids))


def test_a_large_log_is_put_aside(tmp_path, monkeypatch):
    monkeypatch.setattr("service.supervisor.LARGEST_LOG_BYTES", 10)
    log = tmp_path / "web.log"
    log.write_text("a long line of yesterday\n")
    supervisor = Supervisor([Program("web", python("print('new')"), log)], lambda line: None)
    supervisor.start()
    assert wait_for(lambda: log.exists() and "new" in log.read_text())
    supervisor.stop()
    assert (tmp_path / "web.old.log").read_text() == "a long line of yesterday\n"


def test_log_tail_shows_the_end_or_says_there_is_none(tmp_path):
    log = tmp_path / "beat.log"
    assert str(log) in log_tail(log)
    log.write_text("one\ntwo\nthree\n")
    assert log_tail(log, lines=2) == "two\nthree"
