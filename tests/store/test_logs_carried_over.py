"""The logs of an older form: words become messages, and a state that nobody knows is kept."""

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.shop.roles import Role
from portal.shop.route import PartStage
from portal.store import migrations
from portal.store.engine import make_engine
from portal.store.tables import Audit, Move
from tests.readers import english
from tests.store.conftest import Forms
from tests.store.old_form import old_rows
from tests.store.test_carried_over import fill


def test_what_the_office_did_becomes_a_message_where_it_had_words(forms: Forms) -> None:
    url = forms.like("old and filled", fill)
    migrations.upgrade(url)
    engine = make_engine(url)
    with Session(engine) as session:
        rows = session.scalars(sa.select(Audit).order_by(Audit.id)).all()
        said = [english(one.says) if one.says else one.what for one in rows]
        assert said == [row["what"] for row in old_rows()["audit"]]
        with_words = [one for one in rows if one.says]
        assert with_words[0].says.values["role"] is Role.OFFICE
        assert {one.what for one in with_words} == {""}
    engine.dispose()


def test_an_event_at_a_state_that_nobody_knows_keeps_its_word(forms: Forms) -> None:
    url = forms.like("old with a lost state", fill_with_a_lost_state)
    migrations.upgrade(url)
    engine = make_engine(url)
    with Session(engine) as session:
        event = session.get_one(Move, 9001)
        assert (event.from_, event.to, event.note) == (None, PartStage.BLAST, "shed: by the door")
    engine.dispose()


def fill_with_a_lost_state(url: str) -> None:
    fill(url)
    engine = make_engine(url)
    with engine.begin() as connection:
        connection.exec_driver_sql(
            "INSERT INTO move (id, job_id, verb, from_state, to_state, at, note, data) "
            "VALUES (9001, 1, 'move', 'shed', 'blast', '2026-06-01 08:00', 'by the door', '{}')"
        )
    engine.dispose()
