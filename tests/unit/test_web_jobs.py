"""Long work behind a page: watched, ended early, given up; answers are remembered while they hold."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from tests.unit.test_walk_parts import branching_problem
from tests.unit.web_client import PORT, Browser
from underoak.errors import NoAnswer, UserMistake
from underoak.settings import Home
from underoak.walk.solve import Effort, solve
from underoak.web.app import create_app
from underoak.web.jobs import MOST_RUNNING, Job, Jobs
from underoak.web.remembered import Remembered


def until(happened: Callable[[], bool]) -> None:
    ends = time.monotonic() + 20.0
    while not happened():
        assert time.monotonic() < ends, "it never happened"
        time.sleep(0.01)


def patient(job: Job) -> str:
    """Work that goes on until its time is up."""
    while job.clock() < (job.seconds or 0.0):
        job.tell(words="looking", kg=1.5)
        time.sleep(0.01)
    return "/kitchen"


def test_work_ends_with_the_best_so_far_when_that_is_enough() -> None:
    job = Jobs().start("a walk", 1000.0, patient)
    until(lambda: job.told.get("kg") == 1.5)
    assert job.status()["state"] == "running"
    job.enough = True
    until(lambda: job.state == "done")
    assert job.leads_to == "/kitchen"


def test_the_real_solver_ends_in_the_midst_of_its_proof() -> None:
    """Told good enough while it branches, it hands back its walk; left alone it would go on for minutes."""
    problem, effort = branching_problem(), Effort(rounds=15, seconds=1e6)

    def search(job: Job) -> str:
        walk = solve(
            problem, effort=effort, clock=job.clock, tell=lambda one: job.tell(stage=one.stage, kg=one.kg)
        )
        job.tell(found=walk.kg, bound=walk.bound_kg, proved=walk.proved)
        return "/walk"

    job = Jobs().start("a walk", effort.seconds, search)
    until(lambda: job.told.get("stage") == "led search")
    job.enough = True
    until(lambda: job.state == "done")
    assert job.told["found"] >= job.told["kg"] > 0.0
    assert job.told["bound"] > job.told["found"]
    assert not job.told["proved"]


def test_a_clock_that_starts_after_enough_was_said_still_runs_out() -> None:
    job = Job("x", "x", 60.0)
    job.enough = True
    began = job.clock()
    time.sleep(0.01)
    assert job.clock() - began > 60.0


def test_work_is_given_up() -> None:
    job = Jobs().start("a walk", 1000.0, patient)
    job.unwanted = True
    assert job.status()["state"] == "given_up"
    until(lambda: job.state == "given_up")


def test_a_failure_is_told_in_words_and_a_bug_as_a_bug() -> None:
    def fails(_: Job) -> str:
        raise NoAnswer("there is no trail", remedy="load one")

    def breaks(_: Job) -> str:
        raise ZeroDivisionError("oh")

    jobs = Jobs()
    failed, broken = jobs.start("a", 1.0, fails), jobs.start("b", 1.0, breaks)
    until(lambda: failed.state == broken.state == "failed")
    assert failed.status()["problem"] == "there is no trail; load one"
    assert "bug in underoak" in broken.status()["problem"]


def test_no_more_than_two_pieces_run_at_a_time() -> None:
    jobs = Jobs()
    running = [jobs.start("a walk", 1000.0, patient) for _ in range(MOST_RUNNING)]
    with pytest.raises(UserMistake, match="already running"):
        jobs.start("one more", 1.0, patient)
    for job in running:
        job.enough = True
    until(lambda: all(job.state == "done" for job in running))
    assert jobs.start("now", 0.0, patient).id


def test_the_pages_of_a_job_follow_it_to_its_answer(home: Home) -> None:
    app = create_app(home, today=lambda: date(2026, 10, 3), port=PORT)
    job = app.extensions["underoak"].jobs.start("a walk", 1000.0, patient)
    browser, page = Browser(app), f"/work/{job.id}"
    event = browser.get(f"{page}/events").get_data(as_text=True)
    assert event.startswith("retry: ")
    told = json.loads(event.partition("data: ")[2])
    assert (told["state"], told["words"]) == ("running", "looking")
    assert 'http-equiv="refresh"' in browser.text(page)
    assert browser.send(f"{page}/enough", {}, seen_on=page).location == page
    until(lambda: job.state == "done")
    assert browser.get(page).location == "/kitchen"
    assert browser.get("/work/unknown").status_code == 404


def test_an_answer_is_remembered_until_the_ledger_changes(tmp_path: Path) -> None:
    calls: list[int] = []
    ledger = tmp_path / "ledger.sqlite3"
    ledger.write_bytes(b"1")
    remembered = Remembered(ledger)

    def count() -> int:
        calls.append(1)
        return len(calls)

    def ask() -> int:
        return remembered.answer("question", count)

    assert (ask(), ask()) == (1, 1)
    ledger.with_name("ledger.sqlite3-wal").write_bytes(b"a commit")
    assert (ask(), ask()) == (2, 2)


def test_ten_visitors_at_once_make_one_calculation(tmp_path: Path) -> None:
    calls: list[int] = []
    remembered = Remembered(tmp_path / "ledger.sqlite3")

    def slow() -> int:
        time.sleep(0.05)
        calls.append(1)
        return 7

    threads = [threading.Thread(target=lambda: remembered.answer("question", slow)) for _ in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(calls) == 1


def test_a_failed_calculation_is_not_remembered(tmp_path: Path) -> None:
    remembered = Remembered(tmp_path / "ledger.sqlite3")

    def fails() -> int:
        raise NoAnswer("not yet")

    with pytest.raises(NoAnswer):
        remembered.answer("question", fails)
    assert remembered.answer("question", lambda: 3) == 3
