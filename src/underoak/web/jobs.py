"""Long work behind a page: started once, watched, stopped or given up."""

from __future__ import annotations

import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal

from underoak.errors import UnderoakError, UserMistake
from underoak.model.problem import Problem

State = Literal["running", "done", "failed", "given_up"]
#: Long work at one time, and finished work that is remembered.
MOST_RUNNING, MOST_KNOWN = 2, 40


class GivenUp(Exception):
    """Somebody no longer wants the answer."""


@dataclass
class Job:
    """One piece of long work. ``told`` is what it last said of its progress, as plain values.

    ``seconds`` is its limit; None is work that is done when it is done, and tells its ``share`` of what is to
    do and its ``steps`` in words. ``again`` is the address of the form it was asked with, filled in.
    """

    id: str
    title: str
    seconds: float | None
    again: str = ""
    state: State = "running"
    told: dict[str, Any] = field(default_factory=dict)
    leads_to: str = ""
    problem: Problem | None = None
    enough: bool = False
    unwanted: bool = False
    began: float = field(default_factory=time.monotonic)
    changed: threading.Condition = field(default_factory=threading.Condition)

    def clock(self) -> float:
        """Seconds for a solver's limit; they fly once somebody said that it is good enough.

        They fly rather than stand at infinity, because a solver may take its own beginning from this clock
        after that was said.
        """
        return (time.monotonic() - self.began) * (1e6 if self.enough else 1.0)

    def tell(self, **told: Any) -> None:
        """Say how far it has come; raises `GivenUp` when nobody wants the answer any more."""
        if self.unwanted:
            raise GivenUp
        with self.changed:
            self.told.update(told)
            self.changed.notify_all()

    def status(self) -> dict[str, Any]:
        """State and progress as plain values; given up from the moment somebody says so."""
        return {
            "state": "given_up" if self.unwanted and self.state == "running" else self.state,
            "seconds": round(time.monotonic() - self.began, 1),
            "limit": self.seconds,
            "leads_to": self.leads_to,
            "problem": self.problem.sentence() if self.problem else "",
            "stopping": self.enough,
            **self.told,
        }


class Jobs:
    """All long work of one server; at most two pieces run at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._jobs: OrderedDict[str, Job] = OrderedDict()

    def start(self, title: str, seconds: float | None, work: Callable[[Job], str], *, again: str = "") -> Job:
        """Begin work that hands back the address of its answer.

        Raises UserMistake when two pieces are already at work.
        """
        with self._lock:
            if sum(job.state == "running" for job in self._jobs.values()) >= MOST_RUNNING:
                raise UserMistake(
                    "two long pieces of work are already running", remedy="wait for one of them, or stop it"
                )
            job = Job(secrets.token_hex(8), title, seconds, again)
            self._jobs[job.id] = job
            while len(self._jobs) > MOST_KNOWN:
                oldest = next((key for key, one in self._jobs.items() if one.state != "running"), None)
                if oldest is None:
                    break
                del self._jobs[oldest]
        threading.Thread(target=self._run, args=(job, work), daemon=True, name=f"job {job.title}").start()
        return job

    def get(self, job_id: str) -> Job | None:
        """The job of this id, if it is still known."""
        with self._lock:
            return self._jobs.get(job_id)

    def _run(self, job: Job, work: Callable[[Job], str]) -> None:
        state: State = "done"
        try:
            job.leads_to = work(job)
        except GivenUp:
            state = "given_up"
        except UnderoakError as error:
            state, job.problem = "failed", error.problem
        except Exception as error:
            state, job.problem = "failed", Problem(f"this is a bug in underoak, not your mistake: {error!r}")
        with job.changed:
            job.state = "given_up" if job.unwanted and state == "done" else state
            job.changed.notify_all()
