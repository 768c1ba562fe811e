"""Random verbs on both databases against the model; and the machine finds faults that we plant."""

from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from portal.orders.counter import cancellation, hand_back
from portal.shop.moves import JOB_MOVES, JobState
from portal.shop.verbs import EventVerb
from tests.conftest import START, Clock, unit_on
from tests.databases import Database
from tests.deep import DEEP, examples
from tests.machine.works import Works
from tests.orders.test_payments import OFFICE, number_of

STEPS = 60 if DEEP else 30


def machine(database: Database, clock: Clock) -> type[Works]:
    """Return a machine over a database; each of its runs begins with the seeded shop."""

    def open_works() -> tuple[Any, Clock, int]:
        database.end()
        database.begin(may_copy=True)
        clock.set(START)
        unit = database.unit(unit_on(database.engine, clock))
        return unit, clock, number_of(unit, OFFICE)

    return type("Works", (Works,), {"open_works": staticmethod(open_works), "done": Counter()})


def run(
    database: Database, clock: Clock, count: int, phases: tuple[Phase, ...] = tuple(Phase)
) -> Counter[str]:
    drawn = machine(database, clock)
    run_state_machine_as_test(
        drawn,
        settings=settings(
            examples(count),
            stateful_step_count=STEPS,
            phases=phases,
            suppress_health_check=list(HealthCheck),
            derandomize=not DEEP,
            print_blob=True,
        ),
    )
    return drawn.done


@pytest.mark.postgres
def test_any_verb_at_any_moment(database_of_test: Database, clock: Clock) -> None:
    done = run(database_of_test, clock, 3)
    if DEEP:
        print(done)
    assert done["receive"]


def _forgets_the_price(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cancelled order is still owed."""
    monkeypatch.setattr(cancellation, "post_end", lambda *_, **__: None)


def _turns_away_what_never_came(monkeypatch: pytest.MonkeyPatch) -> None:
    """An order that nobody brought may be turned away."""
    sources, to = JOB_MOVES[EventVerb.TURN_AWAY]
    table = JOB_MOVES | {EventVerb.TURN_AWAY: (sources | {JobState.BOOKED}, to)}
    monkeypatch.setattr("portal.orders.kernel.transitions.JOB_MOVES", table)


def _keeps_tags(monkeypatch: pytest.MonkeyPatch) -> None:
    """Parts that go home keep their tags."""
    monkeypatch.setattr(hand_back, "free_tag", lambda *_, **__: None)


PLANTS = [_turns_away_what_never_came, _forgets_the_price, _keeps_tags]


@pytest.mark.parametrize("plant", PLANTS if DEEP else PLANTS[:1])
def test_a_planted_fault_is_found(
    plant: Callable[[pytest.MonkeyPatch], None],
    database_of_test: Database,
    clock: Clock,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plant(monkeypatch)
    with pytest.raises(AssertionError):
        run(database_of_test, clock, 20, (Phase.generate,))
