"""A filled database of every kept form goes up to the newest: no row lost, the sums the same."""

from collections import Counter
from datetime import timedelta
from pathlib import Path

import pytest
from alembic.script import ScriptDirectory

from portal.cli.copies import restore
from portal.shop.moves import JobState
from portal.store import migrations
from portal.store.engine import make_engine
from tests.cast import sign_in
from tests.conftest import Clock, an_app, settings_for
from tests.deep import DEEP
from tests.page import checked_client
from tests.store import released
from tests.store.conftest import Forms
from tests.store.old_form import Rows, dump

# a quick run carries the oldest on SQLite and one with payments of the old kind on PostgreSQL
QUICK = {("sqlite", "0001"), ("postgresql", "0012")}
ACCOUNTS_SINCE = "0015"
# tables that another one took the place of
MOVED = {"payment": "ledger_entry"}
# columns that migrations write anew, by table; every other one keeps its value
WRITTEN_ANEW: dict[str, set[str]] = {
    "job": {"flag", "summary"},  # texts became messages (0005)
    "part": {"arrived", "label"},  # a word for what nobody has checked (0004); a message
    "move": {"data", "note"},  # what the house states stands apart from what was typed
    "finding": {"answer", "answered_how", "change", "says"},
    "inspection": {"says"},
    "audit": {"what"},  # a message where it had words (0026)
    "letter": {"last_error"},  # empty became none (0027)
}
CLOSED = {"/metrics"}  # without a token
ENDED_ON_THE_WAY = (200, 302, 303, 308)


def cases() -> list[tuple[str, str]]:
    every = [(kind, form) for kind in ("sqlite", "postgresql") for form in released.forms()]
    return every if DEEP else [one for one in every if one in QUICK]


@pytest.fixture(params=cases(), ids="-".join)
def case(request: pytest.FixtureRequest) -> tuple[str, str, Forms]:
    kind, form = request.param
    return kind, form, request.getfixturevalue(f"{kind}_forms")


@pytest.fixture
def carried(case: tuple[str, str, Forms]) -> str:
    """The URL of a database that was filled at an old form and went up to the newest."""
    _, form, forms = case

    def carry(url: str) -> None:
        released.fill(url, form)
        migrations.upgrade(url)

    return forms.like(f"released {form}, carried over", carry)


def rows_in(url: str) -> Rows:
    engine = make_engine(url)
    found = dump(engine)
    engine.dispose()
    return found


def owed(rows: Rows) -> Counter[int]:
    """Return what each job owes, in minor units, by the rules of its form."""
    found: Counter[int] = Counter()
    if "ledger_entry" in rows:
        for one in rows["ledger_entry"]:
            found[one["job_id"]] += one["amount_minor"]
        return found
    for job in rows["job"]:
        ended = job["state"] in (JobState.CALLED_OFF, JobState.TURNED_AWAY)
        found[job["id"]] += 0 if ended else job["total_minor"]
    for one in rows["payment"]:
        found[one["job_id"]] -= one["amount_minor"]
    return found


def test_no_row_is_lost_and_the_sums_are_the_same(case, carried: str) -> None:
    before, after = released.rows_of(case[1]), rows_in(carried)
    for table, rows in before.items():
        now = after[MOVED.get(table, table)]
        assert len(now) >= len(rows), table
        _same_values(table, rows, now)
    assert +owed(before) == +owed(after)
    assert sum(owed(before).values()) == sum(owed(after).values())


def _same_values(table: str, before: list, now: list) -> None:
    """Every row is there by its number; a column that still has its name keeps its value."""
    if table in MOVED or not before or "id" not in before[0]:
        return
    by_id = {row["id"]: row for row in now}
    assert {row["id"] for row in before} <= by_id.keys(), table
    changed = {
        name
        for row in before
        for name, value in row.items()
        if name in by_id[row["id"]] and by_id[row["id"]][name] != value
    }
    assert changed <= WRITTEN_ANEW.get(table, set()), table


def test_every_page_of_it_opens(carried: str, tmp_path: Path) -> None:
    clock = Clock()
    clock.set(released.DAY + timedelta(hours=1))
    with an_app(settings_for(carried, tmp_path), clock) as app:
        client = sign_in(app, checked_client(app))
        wrong = {
            path: status for path in pages(app, carried) if not good(status := opened(client, path))
        }
        assert wrong == {}


def opened(client, path: str) -> int:
    return int(client.get(path).status_code)


def good(status: int) -> bool:
    return status in ENDED_ON_THE_WAY


def pages(app, url: str) -> list[str]:
    """Return every page without a name in its address, and those of some jobs of each state."""
    plain = [
        rule.rule
        for rule in app.url_map.iter_rules()
        if "GET" in rule.methods and not rule.arguments and rule.rule not in CLOSED
    ]
    seen: Counter[str] = Counter()
    jobs = []
    for job in rows_in(url)["job"]:
        seen[job["state"]] += 1
        if DEEP or seen[job["state"]] < 2:
            jobs += [f"/J/{job['token']}", f"/counter/job/{job['code']}"]
    return plain + jobs


def test_released_migrations_keep_their_order() -> None:
    walked = ScriptDirectory.from_config(migrations.config()).walk_revisions()
    chain = [one.revision for one in walked][::-1]
    assert tuple(chain[: len(released.CHAIN)]) == released.CHAIN


def test_the_newest_form_is_kept_or_was_just_begun() -> None:
    assert released.forms()[-1] in released.CHAIN


def test_a_backup_of_the_first_form_is_restored(sqlite_forms: Forms, tmp_path: Path) -> None:
    url = sqlite_forms.like("released 0001", lambda one: released.fill(one, "0001"))
    here = settings_for(f"sqlite:///{tmp_path}/portal.sqlite3", tmp_path)
    said = restore(here, Path(url.removeprefix("sqlite:///")))
    assert len(said) == 2
    assert len(rows_in(here.database_url)["job"]) == len(released.rows_of("0001")["job"])
