"""A final button pressed many times at once counts once, and everybody gets the same answer."""

import sqlalchemy as sa

from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.unit import transactional
from portal.store.tables import Audit
from tests.race.crowd import Crowd

PRESSES = 8
TOKEN = "the-token-of-one-form"


def effects(unit) -> int:
    with unit.read() as session:
        return session.scalar(sa.select(sa.func.count()).where(Audit.verb == "export"))


def act(session, unit, n) -> dict:
    session.add(Audit(at=unit.now(), verb="export", what=str(n)))
    session.flush()
    return {"by": n}


@transactional
@idempotent("press")
def press(unit, session, n, *, once_token):
    return act(session, unit, n)


def test_eight_presses_at_once_are_one(unit, database) -> None:
    outcome = Crowd(database, PRESSES).run(lambda unit, n, _: press(unit, n, once_token=TOKEN))
    assert outcome.errors == []
    assert len(outcome.answers) == PRESSES
    assert len({answer["by"] for answer in outcome.answers}) == 1
    assert effects(unit) == 1


def test_without_the_receipt_they_are_eight(unit, database) -> None:
    """The control."""

    def work(unit, n, together):
        return unit.write(lambda s: act(s, unit, n))

    outcome = Crowd(database, PRESSES).run(work)
    assert outcome.errors == []
    assert effects(unit) == PRESSES
