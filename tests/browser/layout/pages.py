"""The catalogue: every page of the portal, in every state in which a person may meet it.

Each entry says how to get there as a person does; the answer of the app is kept as it was sent
and judged by the tests of this folder.
"""

from collections.abc import Callable
from dataclasses import dataclass

from werkzeug.test import TestResponse

from tests.browser.layout.house import House

Visit = Callable[[House], TestResponse]

# the title of a page may be what fails here: the app under test must break to show its accident
ACCIDENT = "a deliberate accident"


@dataclass(frozen=True)
class State:
    """One page in one state; `status` is the HTTP status that belongs to it."""

    name: str
    room: str  # open, intake, link, paper, counter or office
    visit: Visit
    status: int


@dataclass(frozen=True)
class Shown:
    """A page as it was sent."""

    name: str
    room: str
    path: str
    status: int
    headers: tuple[tuple[str, str], ...]
    html: str


@dataclass(frozen=True)
class Unreached:
    """A page that could not be reached."""

    why: str


STATES: dict[str, State] = {}


def state(name: str, room: str, status: int = 200) -> Callable[[Visit], Visit]:
    """Put a visit into the catalogue."""

    def keep(visit: Visit) -> Visit:
        assert name not in STATES, name
        STATES[name] = State(name, room, visit, status)
        return visit

    return keep


def look(name: str, room: str, path: str, status: int = 200) -> None:
    """Put a page of the staff's that is just opened into the catalogue."""
    state(name, room, status)(lambda house: house.staff.get(path))


def take(one: State, house: House) -> Shown:
    """Go there and keep what is shown."""
    answer = one.visit(house)
    assert answer.status_code == one.status, f"{one.name}: {answer.status}, {answer.location}"
    assert answer.mimetype == "text/html", one.name
    kept = tuple((k, v) for k, v in answer.headers if k not in ("Set-Cookie", "Content-Length"))
    return Shown(
        one.name,
        one.room,
        answer.request.full_path.rstrip("?"),
        answer.status_code,
        kept,
        answer.get_data(as_text=True),
    )


def reach(one: State, house: House) -> Shown | Unreached:
    """Go there; where that fails, keep why."""
    try:
        return take(one, house)
    except Exception as problem:  # whatever it is, it belongs to this page's tests
        return Unreached(f"{type(problem).__name__}: {problem}")


def names() -> list[str]:
    """Every state's name, in the order in which they are taken."""
    from tests.browser.layout import (
        pages_ask,
        pages_counter,
        pages_garage,
        pages_intake,
        pages_link,
        pages_money,
        pages_today,  # the last: it fills the works
    )

    rooms = (pages_ask, pages_counter, pages_garage, pages_intake, pages_link, pages_money)
    assert all((*rooms, pages_today))
    return list(STATES)
