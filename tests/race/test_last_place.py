"""Many customers want the last places of one window: as many get one as there are places."""

from datetime import timedelta

import sqlalchemy as sa

from portal.orders.kernel.errors import Taken
from portal.store.tables import Booking
from tests.race.crowd import Crowd
from tests.rows import a_job_row

CAPACITY, CUSTOMERS = 3, 12


def taken(unit, start) -> list[int]:
    with unit.read() as session:
        return sorted(
            session.scalars(sa.select(Booking.place).where(Booking.window_start == start))
        )


def first_free(session, start) -> int | None:
    used = set(session.scalars(sa.select(Booking.place).where(Booking.window_start == start)))
    return next((n for n in range(1, CAPACITY + 1) if n not in used), None)


def test_three_places_are_given_to_three_of_twelve(unit, database) -> None:
    start = unit.now() + timedelta(days=1)

    def work(unit, n, together):
        def verb(session):
            place = first_free(session, start)
            together()
            if place is None:
                raise Taken("full")
            job = a_job_row(session, unit.now(), dropoff_at=start)
            session.add(Booking(window_start=start, place=place, job_id=job.id))
            session.flush()
            return place

        return unit.write(verb)

    outcome = Crowd(database, CUSTOMERS, patience=0.1).run(work)
    assert sorted(outcome.answers) == [1, 2, 3]
    assert taken(unit, start) == [1, 2, 3]
    assert outcome.kinds() <= {"Taken", "IntegrityError", "Busy"}


def test_without_the_guards_more_are_booked_than_there_are_places(unit, database) -> None:
    """The control: no key on the places, and looking before the transaction that writes."""
    start = unit.now() + timedelta(days=1)
    engine = unit._engine()
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP TABLE booking")
        plain = sa.Table(
            "booking",
            sa.MetaData(),
            sa.Column("id", sa.Integer, primary_key=True),
            sa.Column("window_start", sa.DateTime(timezone=True)),
            sa.Column("place", sa.Integer),
            sa.Column("job_id", sa.Integer),
        )
        plain.create(connection)

    def work(unit, n, together):
        with unit.read() as session:
            place = first_free(session, start)
        together()
        if place is None:
            raise Taken("full")

        def verb(session):
            job = a_job_row(session, unit.now(), dropoff_at=start)
            session.add(Booking(window_start=start, place=place, job_id=job.id))

        unit.write(verb)

    Crowd(database, CUSTOMERS, patience=5).run(work)
    assert len(taken(unit, start)) > CAPACITY
