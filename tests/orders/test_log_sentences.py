"""The log: every verb has its sentence, and each sentence says who did what."""

import pytest

from portal.orders.counter import payments
from portal.orders.kernel.event_words import DONE, Event
from portal.orders.office.audit_view import audit_entries
from portal.orders.office.log_sentences import _JOB, _OFFICE, job_said, office_said
from portal.shop.route import PartStage
from portal.shop.states import DocumentKind, FindingAnswer, PaymentMethod, StockReason
from portal.shop.verbs import AuditVerb, EventVerb
from tests.factories import a_booked_job, a_job_in_work, a_token
from tests.readers import english

# an answer and a payment are told by what they were
SPLIT = {
    EventVerb.SETTLE: {*FindingAnswer} - {FindingAnswer.OPEN},
    EventVerb.PAY: {f"pay_{how}" for how in PaymentMethod},
}


@pytest.mark.parametrize("verb", [*EventVerb])
def test_every_event_of_a_job_has_a_sentence_and_a_clause(verb):
    keys = SPLIT.get(verb, {verb})
    assert keys <= set(_JOB) or verb is EventVerb.OTHER
    # "part 2 was moved" and "something was recorded" are what is said of the rest
    assert keys <= set(DONE) or verb in (EventVerb.MOVE, EventVerb.OTHER)


@pytest.mark.parametrize("verb", [*AuditVerb])
def test_everything_that_the_office_does_has_a_sentence(verb):
    assert verb in _OFFICE or verb is AuditVerb.OTHER


def test_each_document_and_each_change_of_stock_has_its_word():
    assert {f"put_{kind}" for kind in DocumentKind} <= set(AuditVerb)
    assert set(StockReason) <= set(AuditVerb)


def said(verb, **more):
    told = {"who": "Wren", "part": None, "moved": (None, None), **more}
    event = Event(
        EventVerb(verb), told.pop("note", ""), told.pop("says", None), told.pop("data", {})
    )
    return english(job_said(event, **told, currency="GBP"))


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (("tag", {"part": 4, "note": "122"}), "Wren put tag 122 on part 4."),
        (("untag", {"part": 4, "note": "122"}), "Wren took tag 122 off part 4."),
        (("receive", {}), "Wren received the job."),
        (("book", {"who": ""}), "The customer booked the job."),
        (("other", {"note": "polish: x"}), "Wren: other polish: x"),
        (("reopened", {"part": 2}), "Wren took back the check of part 2."),
    ],
)
def test_an_event_is_told_as_a_sentence(told, sentence):
    verb, more = told
    assert said(verb, **more) == sentence


def test_a_move_names_both_stations():
    sentence = job_said(
        Event(EventVerb.MOVE, "", None, {}),
        who="Wren",
        part=1,
        moved=(PartStage.PREP, PartStage.BLAST),
        currency="GBP",
    )
    assert sentence.values["was"] is PartStage.PREP
    assert sentence.msgid == "{who} moved part {part} from {was} to {now}."


def test_a_payment_says_how_much_and_how(unit):
    job = a_booked_job(unit)
    payments.take_payment(
        unit, job.job_id, 30100, PaymentMethod.CARD, once_token=a_token(), who=None
    )
    newest = next(one for one in audit_entries(unit) if one.code == job.code)
    assert newest.says.msgid == "{who} took {sum} by card."
    assert (newest.says.values["sum"].minor, newest.says.values["sum"].currency) == (30100, "GBP")


def test_the_list_holds_a_sentence_for_everything_that_a_job_went_through(unit):
    a_job_in_work(unit)
    assert not [one.verb for one in audit_entries(unit) if one.says.msgid == "{who}: {verb} {what}"]


def test_an_entry_of_the_office_says_what_was_changed():
    told = office_said("put_prices", who="Wren", what="minimum: 45.00 → 50.00")
    assert english(told) == "Wren changed the prices. minimum: 45.00 → 50.00"
