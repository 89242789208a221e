"""Watch long work: progress as it comes, stop when it is good enough, or give it up."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator

from flask import Blueprint, Response, abort, redirect, render_template
from werkzeug.wrappers import Response as AnyResponse

from underoak.web.form_token import once
from underoak.web.jobs import Job
from underoak.web.site import site

page = Blueprint("jobs", __name__)
#: A stream ends after so long and the browser opens the next; no more than so many at a time, so that
#: watching never takes all of the server's threads.
STREAM_S, MOST_STREAMS = 20.0, 3
_streams = threading.BoundedSemaphore(MOST_STREAMS)


@page.get("/work/<job_id>")
def watch(job_id: str) -> AnyResponse | str:
    """Progress, without script by reloading; leads on when it is done."""
    job = _job(job_id)
    if job.state == "done":
        return redirect(job.leads_to, 303)
    return render_template("work.html", job=job, status=job.status())


def _job(job_id: str) -> Job:
    job = site().jobs.get(job_id)
    if job is None:
        abort(404)
    return job


@page.get("/work/<job_id>/events")
def events(job_id: str) -> Response:
    """Progress as server-sent events."""
    job = _job(job_id)
    free = _streams.acquire(blocking=False)
    lines = _stream(job) if free else iter([_event(job)])
    response = Response(lines, mimetype="text/event-stream")
    if free:
        response.call_on_close(_streams.release)
    return response


def _stream(job: Job) -> Iterator[str]:
    ends = time.monotonic() + STREAM_S
    yield "retry: 1000\n\n"
    while time.monotonic() < ends:
        yield _event(job)
        if job.state != "running":
            return
        with job.changed:
            job.changed.wait(timeout=1.0)
        time.sleep(0.1)


def _event(job: Job) -> str:
    return f"data: {json.dumps(job.status())}\n\n"


@page.post("/work/<job_id>/enough")
@once()
def enough(job_id: str) -> str:
    """Good enough: end the search and take the best so far."""
    _job(job_id).enough = True
    return f"/work/{job_id}"


@page.post("/work/<job_id>/give-up")
@once()
def give_up(job_id: str) -> str:
    """Nobody wants the answer any more."""
    _job(job_id).unwanted = True
    return f"/work/{job_id}"
