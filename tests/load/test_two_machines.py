"""Two machines over one PostgreSQL: what one knows, the other holds to.

Each has a folder and a port of its own, as it would have elsewhere, and two processes, in a quick
run one; they share a secret.
"""

import itertools
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Any

import pytest
import sqlalchemy as sa

from portal.orders.intake.strangers import MOST_OPEN
from portal.orders.kernel.notes import write_note
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Booking, Customer, Job, Letter, Part, Photo, SimulatedFloor
from portal.web.kit.http import clock as real
from tests.cast import COUNTER, FLOOR, add_staff, token_of
from tests.conftest import named, on_server, unit_at
from tests.deep import DEEP
from tests.load.browser import Browser, Visitor
from tests.load.machines import Machine, machine
from tests.notices.posting import Post, mail_server
from tests.page import page_of
from tests.web.test_intake_photos import a_jpeg

MANY, MOST_ROUNDS = 6, 6
NUMBERS = itertools.count(100)


@dataclass
class Works:
    """Two machines, what they share, and the box that their letters come to."""

    machines: list[Machine]
    unit: UnitOfWork
    post: Post

    @property
    def ports(self) -> list[int]:
        return [one.port for one in self.machines]

    def browser(self, first: int = 0) -> Browser:
        """A browser that asks the two by turns."""
        return Browser(self.ports[first % 2 :] + self.ports[: first % 2])

    def ask(self, statement: Any) -> list[Any]:
        with self.unit.read() as session:
            return list(session.scalars(statement))


@pytest.fixture(scope="module")
def works(postgres_server, postgres_database, tmp_path_factory) -> Iterator[Works]:
    on_server(postgres_server, "CREATE DATABASE two_machines TEMPLATE model STRATEGY FILE_COPY")
    url = named(postgres_server, "two_machines")
    unit = unit_at(url, real)
    add_staff(unit)
    with ExitStack() as stack:
        post = Post()
        smtp = f"smtp://127.0.0.1:{stack.enter_context(mail_server(post))}"
        folders = [tmp_path_factory.mktemp("machine") for _ in range(2)]
        processes = 2 if DEEP else 1
        machines = [
            stack.enter_context(machine(one, url, workers=processes, PORTAL_SMTP=smtp))
            for one in folders
        ]
        stack.callback(unit.close)
        yield Works(machines, unit, post)


def at_once(work: Callable[[int], Any], count: int) -> list[Any]:
    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(work, range(count)))


def a_phone() -> str:
    return f"07700 900{next(NUMBERS)}"


def ready_to_book(works: Works, number: int, phone: str, *, time: int = 0) -> Visitor:
    """A visitor before the last button; `time` is which of the free times they want."""
    who = Visitor(works.browser(number))
    return who.walk_to_the_end(phone, f"robin{next(NUMBERS)}@example.com", time)


def test_a_window_has_its_places_whoever_asks_where(works: Works) -> None:
    visitors = at_once(lambda n: ready_to_book(works, n, a_phone()), MANY)
    at_once(lambda n: visitors[n].book(), MANY)
    booked = Counter(works.ask(sa.select(Booking.window_start)))
    places = {(one.window_start, one.place) for one in _rows(works, Booking)}
    assert len(places) == booked.total() > 0
    with works.unit.read() as session:
        shop = works.unit.shop(session)
    for start, count in booked.items():
        assert count <= shop.week.drop_off.places, start


def _rows(works: Works, table: Any) -> list[Any]:
    return works.ask(sa.select(table))


def test_a_telephone_number_has_three_open_bookings_over_both(works: Works) -> None:
    phone = a_phone()
    visitors = at_once(lambda n: ready_to_book(works, n, phone, time=2 * n + 9), MANY)
    same = sa.select(sa.func.count()).select_from(Job).join(Customer)
    theirs = same.where(Customer.phone.endswith(phone.replace(" ", "")[1:]))
    for _ in range(MOST_ROUNDS):  # a booking may move the others' dates: read, press again
        at_once(lambda n: _press(visitors[n]), MANY)
        assert works.ask(theirs)[0] <= MOST_OPEN
    # the two may tell different dates for a while, and who lost a time has left the last page:
    # those who come later ask one machine alone, and fill up the rest
    for n in range(MOST_OPEN - works.ask(theirs)[0]):
        late = Visitor(Browser([works.ports[n % 2]]))
        late.walk_to_the_end(phone, f"robin{next(NUMBERS)}@example.com", 2 * n + 10)
        for _ in range(MOST_ROUNDS):
            _press(late)
    assert works.ask(theirs) == [MOST_OPEN]


def _press(visitor: Visitor) -> None:
    if visitor.at.request.path.endswith("/read-back"):
        visitor.follow(visitor.book())


def test_a_button_that_is_pressed_on_both_counts_once(works: Works) -> None:
    visitor = ready_to_book(works, 0, a_phone(), time=30)
    before = works.ask(sa.select(sa.func.count()).select_from(Job))[0]
    alone = [visitor.client.at(port) for port in works.ports]
    for _ in range(MOST_ROUNDS):  # a date that has moved is read and sent again
        answers = _press_on_both(alone, visitor)
        if any(one.status_code == 303 for one in answers):
            break
        visitor.go_to("read-back")
    again = _press_on_both(alone, visitor)
    assert {one.status_code for one in again} == {303}
    booked = [one for one in (*answers, *again) if one.status_code == 303]
    assert len({one.headers["Location"] for one in booked}) == 1
    assert works.ask(sa.select(sa.func.count()).select_from(Job)) == [before + 1]


def _press_on_both(alone: list[Browser], visitor: Visitor) -> list[Any]:
    """Press the last button of one page four times at once, on both machines."""
    page = visitor.at
    ticks = {one.get("name", ""): "y" for one in visitor.page.all("input", type_="checkbox")}
    return at_once(lambda n: alone[n % 2].submit(page, **ticks), 4)


def test_who_signed_in_on_one_is_known_to_the_other(works: Works) -> None:
    first, second = (Browser([port]) for port in works.ports)
    page = first.get("/counter/sign-in")
    entered = first.submit(page, login=COUNTER.login, password=COUNTER.password)
    assert entered.status_code == 303
    second.cookies = first.cookies
    today = second.get("/counter/today")
    assert today.status_code == 200
    # a form of one machine is taken by the other: the secret is the same
    found = first.submit(today, form=0, q="nobody here")
    assert found.status_code in (200, 303)
    left = second.post("/counter/sign-out", {"csrf_token": token_of(today.get_data())})
    assert left.status_code == 303
    assert first.get("/counter/today").status_code != 200


def test_a_note_is_read_on_the_floor_of_both_at_once(works: Works) -> None:
    visitor = ready_to_book(works, 0, a_phone(), time=20)
    for _ in range(MOST_ROUNDS):  # a date that has moved is read and sent again
        _press(visitor)
    [job_id] = works.ask(sa.select(Job.id).order_by(Job.id.desc()).limit(1))
    _stand(works, job_id, JobState.IN_WORK, PartStage.BLAST)
    device = works.browser()
    entered = device.submit(
        device.get("/counter/sign-in"), login=COUNTER.login, password=COUNTER.password
    )
    assert entered.status_code == 303

    def floors() -> set[bool]:
        # often enough for each process of each machine to have had a turn
        pages = [device.get("/counter/floor").get_data() for _ in range(12)]
        return {"mind the valve" in one for one in pages}

    assert floors() == {False}
    write_note(works.unit, job_id, "mind the valve", stage=None, who=None)
    assert floors() == {True}
    _stand(works, job_id, JobState.BOOKED, PartStage.EXPECTED)


def _stand(works: Works, job_id: int, state: JobState, stage: PartStage) -> None:
    job = sa.update(Job).where(Job.id == job_id).values(state=state)
    parts = sa.update(Part).where(Part.job_id == job_id).values(stage=stage)
    works.unit.write(lambda s: (s.execute(job), s.execute(parts)))


def test_guesses_are_counted_over_both(works: Works) -> None:
    told = [_guess(works, number) for number in range(12)]
    assert told[0] == 422
    assert told[-2:] == [429, 429]


def _guess(works: Works, number: int) -> int:
    browser = Browser([works.ports[number % 2]])
    page = browser.get("/counter/sign-in")
    return browser.submit(page, login=FLOOR.login, password=f"a wrong guess {number}").status_code


def test_a_photo_that_one_took_is_shown_by_the_other(works: Works) -> None:
    visitor = Visitor(Browser([works.ports[0]]))
    visitor.send(size="8Jx18 ET35", build="cast", photos=(a_jpeg(), "wheel.jpg"))
    [token] = works.ask(sa.select(Photo.token).order_by(Photo.id.desc()).limit(1))
    other = visitor.client.at(works.ports[1])
    page = other.get(visitor.url("parts"))
    [shown] = [one for one in page_of(page).all("img") if token in one.get("src", "")]
    photo = other.get(shown.get("src"))
    assert photo.headers["Content-Type"] == "image/jpeg"
    assert photo.body.startswith(b"\xff\xd8")


def test_both_say_that_they_are_ready(works: Works) -> None:
    for port in works.ports:
        answer = Browser([port]).get("/readyz")
        assert answer.status_code == 200
        assert "mail worker: at work" in answer.get_data()


def test_one_worker_sends_and_forecasts_and_the_next_takes_over(works: Works) -> None:
    _until(lambda: not _waiting(works))
    _each_letter_once(works)
    first = _holder(works)
    [lost] = [one for one in works.machines if first in one.family()]
    [other] = [one for one in works.machines if one is not lost]
    versions = works.ask(sa.select(SimulatedFloor.version))
    lost.kill()
    _until(lambda: _holder(works) == other.mail_worker())
    visitor = Visitor(Browser([other.port]))
    visitor.walk_to_the_end(a_phone(), "robin@example.com", 40)
    visitor.follow(visitor.book())
    _until(lambda: not _waiting(works))
    _until(lambda: works.ask(sa.select(SimulatedFloor.version)) > versions)
    _each_letter_once(works)


def _waiting(works: Works) -> list[int]:
    waits = Letter.state.in_(("queued", "sending"))
    return works.ask(sa.select(Letter.id).where(waits))


def _holder(works: Works) -> int | None:
    """The process that holds the lock of the mail worker; its connection bears its number."""
    held = (
        "SELECT application_name FROM pg_stat_activity JOIN pg_locks USING (pid) "
        "WHERE locktype = 'advisory' AND granted"
    )
    names = works.ask(sa.text(held))
    assert len(names) <= 1
    return int(names[0].rpartition(" ")[2]) if names else None


def _each_letter_once(works: Works) -> None:
    marks = Counter(one["Message-ID"] for one in works.post.got)
    assert set(marks.values()) <= {1}
    sent = works.ask(sa.select(Letter.message_id).where(Letter.state == "sent"))
    assert set(sent) == set(marks)


def _until(holds: Callable[[], bool]) -> None:
    for _ in range(600):
        if holds():
            return
        time.sleep(0.1)
    raise AssertionError(holds)
