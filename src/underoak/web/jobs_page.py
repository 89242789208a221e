"""Watch long work: progress as it comes, stop when it is good enough, or give it up."""

from __future__ import annotations

import json
import threading

from flask import Blueprint, Response, abort, redirect, render_template
from werkzeug.wrappers import Response as AnyResponse

from underoak.web.form_token import once
from underoak.web.jobs import Job
from underoak.web.site import site

page = Blueprint("jobs", __name__)
#: An answer waits so long for news and then ends; the browser asks again by itself. So watching never
#: holds a thread of the server for long. No more than so many wait at a time.
WAIT_S, MOST_WAITING = 1.5, 4
_waiting = threading.BoundedSemaphore(MOST_WAITING)


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
    """The next news as a server-sent event."""
    job = _job(job_id)
    if job.state == "running" and _waiting.acquire(blocking=False):
        try:
            with job.changed:
                job.changed.wait(timeout=WAIT_S)
        finally:
            _waiting.release()
    told = json.dumps(job.status())
    return Response(f"retry: 300\ndata: {told}\n\n", mimetype="text/event-stream")


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
