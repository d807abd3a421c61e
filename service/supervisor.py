"""Keeps a few child processes running side by side, and ends all of them together.

Each child leads a process group of its own, so Ctrl-C in the terminal reaches the supervisor alone and the
supervisor decides the order. A child that ends by itself is started again after a growing pause. On Linux
the kernel asks the children to stop even when the supervisor itself is killed outright.
"""

from __future__ import annotations

import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

#: Seconds between two looks at the children.
LOOK_SECONDS = 0.2
#: First and longest pause before a child is started again.
FIRST_PAUSE_SECONDS = 1.0
LONGEST_PAUSE_SECONDS = 30.0
#: A child that ran this long has proved itself: its next pause is the first one again.
STEADY_SECONDS = 60.0
#: A log larger than this is put aside at the next start.
LARGEST_LOG_BYTES = 5_000_000

_PR_SET_PDEATHSIG = 1
_STOP_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@dataclass(frozen=True)
class Program:
    """One child: its name, command line and log file."""

    name: str
    command: Sequence[str]
    log: Path


@dataclass
class _Child:
    program: Program
    process: subprocess.Popen[bytes]
    started: float
    pause: float = FIRST_PAUSE_SECONDS
    again_at: float | None = None


@dataclass
class Supervisor:
    """Start the programs, watch them, stop them.

    :param programs: what to run, in starting order; they are stopped in the opposite order.
    :param say: called with one line for everything a person should know.
    :param grace_seconds: how long all children together may take to end before they are killed.
    """

    programs: Sequence[Program]
    say: Callable[[str], None]
    environment: dict[str, str] | None = None
    grace_seconds: float = 20.0
    stopping: bool = False
    _hurry: bool = False
    _children: list[_Child] = field(default_factory=list)

    def start(self) -> None:
        """Take over the stop signals and start every program."""
        for number in _STOP_SIGNALS:
            signal.signal(number, self._on_signal)
        for program in self.programs:
            self._children.append(_Child(program, self._spawn(program), time.monotonic()))

    def watch(self, until: Callable[[], bool] | None = None, seconds: float | None = None) -> bool:
        """Keep the children running until told to stop; ``True`` when ``until`` came true first.

        :param until: asked between looks; its first ``True`` ends the watch.
        :param seconds: longest time to watch; without it, for ever.
        """
        end = None if seconds is None else time.monotonic() + seconds
        while not self.stopping and (end is None or time.monotonic() < end):
            for child in self._children:
                self._look_after(child, time.monotonic())
            if until is not None and until():
                return True
            time.sleep(LOOK_SECONDS)
        return False

    def stop(self) -> bool:
        """End every child and whatever it started; ``True`` when none had to be killed."""
        self.stopping = True
        gentle = True
        end = time.monotonic() + self.grace_seconds
        for child in reversed(self._children):
            if child.process.poll() is None:
                child.process.terminate()
        for child in reversed(self._children):
            while child.process.poll() is None and time.monotonic() < end and not self._hurry:
                time.sleep(0.05)
            if child.process.poll() is None:
                gentle = False
                self.say(f"{child.program.name} did not end in {self.grace_seconds:g} s and was killed")
            _kill_group(child.process.pid)
            child.process.wait()
        return gentle

    def pids(self) -> dict[str, int]:
        """Return the process id of each child by name."""
        return {child.program.name: child.process.pid for child in self._children}

    def _on_signal(self, number: int, frame: FrameType | None) -> None:
        self._hurry = self.stopping and number == signal.SIGINT
        self.stopping = True

    def _spawn(self, program: Program) -> subprocess.Popen[bytes]:
        program.log.parent.mkdir(parents=True, exist_ok=True)
        if program.log.exists() and program.log.stat().st_size > LARGEST_LOG_BYTES:
            program.log.replace(program.log.with_suffix(".old.log"))
        with program.log.open("ab") as log:
            return subprocess.Popen(
                program.command,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                env=self.environment,
                start_new_session=True,
                preexec_fn=_end_with_parent(os.getpid()) if sys.platform == "linux" else None,
            )

    def _look_after(self, child: _Child, now: float) -> None:
        status = child.process.poll()
        if status is None:
            return
        name = child.program.name
        if child.again_at is None:
            _kill_group(child.process.pid)
            if now - child.started >= STEADY_SECONDS:
                child.pause = FIRST_PAUSE_SECONDS
            child.again_at = now + child.pause
            self.say(
                f"{name} ended by itself (status {status}); starting it again in {child.pause:g} s, "
                f"its log is {child.program.log}"
            )
            child.pause = min(child.pause * 2, LONGEST_PAUSE_SECONDS)
        elif now >= child.again_at:
            child.process = self._spawn(child.program)
            child.started, child.again_at = now, None
            self.say(f"{name} started again")


def log_tail(log: Path, lines: int = 15) -> str:
    """Return the last lines of a log, for a message to a person."""
    if not log.exists():
        return f"(no log at {log})"
    return "\n".join(log.read_text(errors="replace").splitlines()[-lines:])


def _kill_group(leader: int) -> None:
    """Kill what is left of the group a child led; a group that is already gone is fine."""
    try:
        os.killpg(leader, signal.SIGKILL)
    except (ProcessLookupError, PermissionError):
        return


def _end_with_parent(parent: int) -> Callable[[], None]:
    """Return what a new child runs first: ask the kernel for SIGTERM when the parent is gone."""
    libc = ctypes.CDLL(None, use_errno=True)

    def ask() -> None:
        libc.prctl(_PR_SET_PDEATHSIG, signal.SIGTERM)
        if os.getppid() != parent:
            os._exit(1)

    return ask
