"""The demo: what `make demo` fills is whole, and what it shows is what it says."""

import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from portal.cli.demo import PEOPLE, DayChance, prepare, where_to_look
from portal.cli.opening import opened
from portal.orders.counter.questions_view import answered_lately, question_view, to_answer
from portal.orders.kernel.unit import open_unit
from portal.orders.office.late import late_jobs
from portal.orders.planning.promises import promises_kept
from portal.render.reader import Reader
from portal.settings import read_settings
from portal.shop.moves import JobState
from portal.store.tables import Job

# in the middle of a week without holidays, in the middle of the day
TODAY = datetime(2026, 10, 14, 12, 30, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    data = tmp_path_factory.mktemp("demo")
    settings = read_settings({"PORTAL_DATA": str(data), "PORTAL_DEMO": "1"})
    prepare(settings, today=TODAY)
    says = where_to_look(settings, Reader())
    unit = open_unit(
        settings.database_url, now=lambda: TODAY, random_bytes=DayChance("x"), base_url="http://x"
    )
    yield settings, says, unit
    unit.close()


def test_it_tells_where_to_look(demo) -> None:
    settings, says, _unit = demo
    assert f"{settings.base_url}/J/" in says
    assert all(login in says for login, _, _ in PEOPLE)


def test_every_state_of_a_job_is_there(demo) -> None:
    with demo[2].read() as session:
        states = set(session.scalars(sa.select(Job.state)))
    assert states >= set(JobState) - {JobState.RECEIVED, JobState.TURNED_AWAY, JobState.NOT_FETCHED}


def test_what_is_finished_was_finished_in_time(demo) -> None:
    with demo[2].read() as session:
        done = session.execute(
            sa.select(Job.ready_at, Job.promise_at).where(Job.ready_at.is_not(None))
        ).all()
    assert len(done) >= 4
    assert all(ready <= promised for ready, promised in done)


def test_a_question_waits_at_the_counter_and_another_was_answered(demo) -> None:
    (waiting,) = to_answer(demo[2])
    (answered,) = answered_lately(demo[2])
    assert waiting.asked_at < TODAY
    assert question_view(demo[2], waiting.question_id).assessment is not None
    assert question_view(demo[2], answered.question_id).answered_by == "Piet"


def test_one_job_is_late(demo) -> None:
    kept = promises_kept(demo[2])
    [late] = late_jobs(demo[2]).lines
    assert kept.of - kept.kept == 1
    assert late.name == "Hester Quill"


def test_a_second_start_finds_it_as_it_was(demo) -> None:
    settings, says, unit = demo
    # a demo that was filled anew would have the same links, but not this
    unit.write(lambda session: session.execute(sa.update(Job).values(vehicle="blue van")))
    prepare(settings, today=TODAY)
    assert where_to_look(settings, Reader()) == says
    with unit.read() as session:
        assert set(session.scalars(sa.select(Job.vehicle))) == {"blue van"}


def test_on_another_day_it_is_made_anew_and_the_old_one_kept_beside(demo, tmp_path) -> None:
    settings, _says, unit = demo
    unit.close()
    prepare(replace(settings, seed_dir=_three_jobs(settings, tmp_path)), today=TODAY + DAY)
    assert (settings.data_dir / "portal.old.sqlite3").exists()
    with opened(settings) as anew, anew.read() as session:
        assert session.scalar(sa.select(sa.func.count()).select_from(Job)) == 3


def _three_jobs(settings, folder):
    """Return a seed like the demo's own with its first jobs alone: the whole is tested above."""
    for name in ("shop.toml", "powders.csv"):
        shutil.copy(settings.seed_dir / name, folder)
    jobs = (settings.seed_dir / "jobs.toml").read_text(encoding="utf-8").split("[[job]]")
    (folder / "jobs.toml").write_text("[[job]]".join(jobs[:4]), encoding="utf-8")
    return folder
