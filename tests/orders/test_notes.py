"""Notes by staff for staff: where they are told, and that they go with the customer's data."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import cancellation
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.notes import MOST_NOTES, notes_of, remove_note, write_note
from portal.orders.office.erasing import erase_customer
from portal.orders.production.floor_view import floor_view
from portal.orders.production.marks import Mark
from portal.shop.route import PartStage
from portal.shop.verbs import EventVerb
from portal.store.tables import JobNote, Move
from tests.factories import a_booked_job, a_job_at, events

SECRET = "He wants the scratch left on part 2"


def kept(unit, job):
    with unit.read() as session:
        return notes_of(session, [job.job_id]).get(job.job_id, ())


def test_a_note_for_one_station_stands_on_its_card_there_alone(unit) -> None:
    job = a_job_at(unit, PartStage.BLAST)
    write_note(unit, job.job_id, SECRET, stage=PartStage.COAT, who=None)
    seen = floor_view(unit)
    (card,) = seen.groups
    assert seen.notes_at(card) == ()
    assert Mark.NOTE not in seen.marks(card)
    write_note(unit, job.job_id, "  rush  with\ncare ", stage=None, who=None)
    seen = floor_view(unit)
    (card,) = seen.groups
    assert [one.text for one in seen.notes_at(card)] == ["rush with care"]
    assert Mark.NOTE in seen.marks(card)


def test_the_log_says_that_there_was_a_note_and_not_what_it_said(unit) -> None:
    job = a_booked_job(unit)
    write_note(unit, job.job_id, SECRET, stage=None, who=None)
    (note,) = kept(unit, job)
    remove_note(unit, job.job_id, note.id, who=None)
    assert kept(unit, job) == ()
    assert len(events(unit, job, EventVerb.NOTE)) == len(events(unit, job, EventVerb.NOTE_OFF)) == 1
    with unit.read() as session:
        every = session.scalars(sa.select(Move)).all()
        assert not [one for one in every if "scratch" in f"{one.note}{one.says}{one.data}"]
    with pytest.raises(Already):
        remove_note(unit, job.job_id, note.id, who=None)


@pytest.mark.parametrize("text", ["", "   ", "x" * 401])
def test_an_empty_note_or_a_book_is_refused(unit, text) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Refused) as refused:
        write_note(unit, job.job_id, text, stage=None, who=None)
    assert refused.value.key == "text"
    assert kept(unit, job) == ()


def test_a_job_takes_only_so_many_notes(unit) -> None:
    job = a_booked_job(unit)
    for n in range(MOST_NOTES):
        write_note(unit, job.job_id, f"note {n}", stage=None, who=None)
    with pytest.raises(Refused):
        write_note(unit, job.job_id, "one more", stage=None, who=None)


def test_notes_are_erased_with_the_customer(unit) -> None:
    job = a_booked_job(unit)
    write_note(unit, job.job_id, SECRET, stage=None, who=None)
    cancellation.call_off(unit, job.job_id, "changed plans", who=None)
    with pytest.raises(Refused):
        write_note(unit, job.job_id, "too late", stage=None, who=None)
    erase_customer(unit, job.code)
    with unit.read() as session:
        assert session.scalars(sa.select(JobNote)).all() == []
