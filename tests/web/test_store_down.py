"""No room, read-only, locked for long: nothing is booked, and what was typed can be sent again."""

import shutil
from collections import namedtuple
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy import event

from portal.orders.kernel import unit as unit_of_work
from portal.store import engine as store
from portal.store.sqlite_driver import driver
from portal.store.tables import Job
from portal.web.kit.http import system_routes
from tests.cast import sign_in
from tests.conftest import an_app, settings_for
from tests.factories import a_job_in_work
from tests.page import checked_client, page_of
from tests.web.hand import Hand
from tests.web.walk import Customer

Usage = namedtuple("Usage", "total used free")


@pytest.fixture
def app(settings, clock, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(store, "BUSY_SECONDS", 0.05)
    monkeypatch.setattr(unit_of_work, "GIVE_UP_AFTER_S", 0.1)
    with an_app(settings, clock) as own:
        own.testing = False
        yield own


def engine_of(app) -> sa.Engine:
    return app.extensions["unit"]._engine()


@contextmanager
def pragma(app, statement: str) -> Iterator[None]:
    """Let every connection begin with a setting that breaks it."""

    def breaks(connection, *_) -> None:
        connection.execute(statement)

    engine_of(app).dispose()
    event.listen(engine_of(app), "connect", breaks)
    yield
    event.remove(engine_of(app), "connect", breaks)
    engine_of(app).dispose()


@contextmanager
def locked(app, _statement: str) -> Iterator[None]:
    """Let another program hold the database."""
    other = driver.connect(str(Path(engine_of(app).url.database)), isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    yield
    other.execute("ROLLBACK")
    other.close()


FAULTS = {
    "full": (pragma, "PRAGMA max_page_count = 1"),
    "read-only": (pragma, "PRAGMA query_only = ON"),
    "locked": (locked, ""),
}


def jobs(app) -> int:
    with app.extensions["unit"].read() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(Job))


@pytest.mark.parametrize("fault", FAULTS)
def test_the_last_button_books_nothing_says_so_and_can_be_pressed_again(app, fault: str) -> None:
    customer = Customer(checked_client(app)).walk_to("read-back")
    breaks, statement = FAULTS[fault]
    with breaks(app, statement):
        refused = customer.book()
    assert refused.status_code == 503
    assert refused.headers["Retry-After"]
    page = page_of(refused)
    assert "Nothing was booked or changed" in page.text
    assert jobs(app) == 0
    form = next(n for n in range(9) if page.action(n).startswith(customer_path(refused)))
    done = customer.client.submit(refused, form=form)
    assert done.status_code == 303
    assert done.location.startswith("/J/")
    assert jobs(app) == 1


def customer_path(response) -> str:
    return response.request.path


def test_what_was_typed_is_shown_and_no_secret_is(app) -> None:
    customer = Customer(checked_client(app)).walk_to("you")
    with pragma(app, "PRAGMA query_only = ON"):
        refused = customer.send(name="Ada Fenn", email="ada@example.com", phone="07700 900123")
        assert refused.status_code == 503
        assert "Ada Fenn" in page_of(refused).text
        sign_in = customer.client.get("/counter/sign-in")
        secret = customer.client.submit(sign_in, login="wren", password="hunter2 hunter2")
    assert secret.status_code == 503
    assert "hunter2" not in secret.text


def test_who_only_reads_goes_on(app) -> None:
    customer = Customer(checked_client(app)).walk_to("finish")
    with pragma(app, "PRAGMA query_only = ON"):
        assert customer.client.get(customer.at.request.path).status_code == 200


def test_readyz_tries_to_save_and_looks_at_the_room_left(app, monkeypatch) -> None:
    client = app.test_client()
    assert "room left" in client.get("/readyz").text
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: Usage(10**12, 10**12, 99_000_000))
    assert client.get("/readyz").status_code == 503
    assert "nearly full: 99 MB left" in client.get("/readyz").text
    monkeypatch.setattr(system_routes, "LEAST_ROOM", 0)
    assert client.get("/readyz").status_code == 200
    app.extensions["unit"].write(lambda session: session.execute(sa.text("DELETE FROM heartbeat")))
    with pragma(app, "PRAGMA query_only = ON"):
        assert client.get("/readyz").status_code == 503


# pages of the staff with a form each, and what is typed into it
STAFF_FORMS: dict[str, tuple[str, dict[str, str]]] = {
    "note": ("/counter/job/{code}", {"note": "rings twice"}),
    "hang": ("/counter/job/{code}", {}),
    "pay": ("/counter/job/{code}/pay", {"amount": "50", "record": "cash:5000"}),
    "move": ("/counter/floor", {}),
    "till": ("/counter/till", {"opening": "0", "counted": "0", "banked": "0"}),
    "strip-runs": ("/counter/strip-runs", {}),
    "letters": ("/office/letters", {"to": "wren@example.com"}),
    "terms": ("/office/terms", {}),
}


def test_no_form_of_the_staff_tells_it_beside_a_field(app) -> None:
    job = a_job_in_work(app.extensions["unit"])
    hand = Hand(sign_in(app, checked_client(app)))
    pages = {way: hand.client.get(way.format(code=job.code)) for way, _ in STAFF_FORMS.values()}
    with pragma(app, "PRAGMA query_only = ON"):
        for action, (way, typed) in STAFF_FORMS.items():
            hand.at = pages[way]
            answer = hand.send(action, **typed)
            assert (action, answer.status_code) == (action, 503)
            assert "Nothing was booked or changed" in hand.page.text
            assert all(text in answer.text for text in typed.values() if len(text) > 6)


OPEN_PAGES = ("/", "/privacy", "/counter/sign-in")
LINKS = ("/o/ABCDEFGHJKLMNPQRSTUVWXYZ23/parts", "/J/ABCDEFGHJKLMNPQRSTUVWXYZ23")


def test_every_page_says_so_while_the_database_is_away(clock, tmp_path: Path) -> None:
    nobody = settings_for("postgresql+psycopg://portal@127.0.0.1:1/none", tmp_path)
    with an_app(nobody, clock) as app:
        app.testing = False
        client = checked_client(app)
        for path in OPEN_PAGES + LINKS:
            answer = client.get(path)
            assert (path, answer.status_code) == (path, 503)
            assert "Nothing was booked or changed" in page_of(answer).text
            assert answer.headers["Retry-After"]
        assert client.get("/healthz").status_code == 200
        assert client.get("/readyz").status_code == 503
