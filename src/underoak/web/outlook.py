"""The outlook's own record: learn from the seasons that are over, judge the forecasts, see both."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, render_template

from underoak.web.form_token import once
from underoak.web.jobs import Job
from underoak.web.site import site

page = Blueprint("outlook", __name__)
RULINGS = {
    "model": "the model is shown",
    "climatology": "your plain rates are shown",
    "untried": "too few finds to judge it alone",
}


@page.get("/outlook")
def show() -> str:
    """What was learned and how it was judged."""
    from underoak.desk.outlook_record import outlook_record

    here = site()
    return render_template(
        "outlook.html", record=outlook_record(here.home, today=here.today()), rulings=RULINGS
    )


@page.post("/outlook/learn")
@once()
def learn() -> str:
    """Begin to learn and go on to its progress."""
    home, today = site().home, site().today()

    def work(job: Job) -> str:
        from underoak.book.load import load_book
        from underoak.desk.learn_seasons import learn_seasons
        from underoak.desk.outlook_record import keep_learning

        learning = learn_seasons(home, today=today, progress=_telling(job))
        keep_learning(home, learning, load_book().version)
        return "/outlook"

    return f"/work/{site().jobs.start('Learning from your seasons', None, work, again='/outlook').id}"


@page.post("/outlook/judge")
@once()
def judge() -> str:
    """Begin to judge and go on to its progress."""
    home, today = site().home, site().today()

    def work(job: Job) -> str:
        from underoak.desk.judge_outlook import judge_outlook

        judge_outlook(home, today=today, progress=_telling(job))
        return "/outlook"

    return f"/work/{site().jobs.start('Judging the outlook', None, work, again='/outlook').id}"


def _telling(job: Job) -> Callable[[str, int, int], None]:
    """Tell a job's progress; ends the work when nobody wants it any more."""
    from underoak.book.load import load_book

    taxa = load_book().taxa

    def tell(what: str, done: int, steps: int) -> None:
        doing, _, last = what.rpartition(" ")
        name = taxa[last].scientific_name if last in taxa else last
        job.tell(
            words=f"{doing} {name}".strip(), share=done / max(steps, 1), steps=f"{done} of {steps} steps"
        )

    return tell
