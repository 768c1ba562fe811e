"""Entries of the log as sentences: "Wren took £336.00 by card."

Every verb of a job's events and of the office's record has its sentence; an unknown one is shown by
its name, so that no entry is ever lost.
"""

from typing import Any

from portal.craft.messages import Message
from portal.craft.parts import Titled
from portal.orders.kernel.event_words import Event
from portal.shop.money import Money
from portal.shop.verbs import EventVerb

SYSTEM = Message("The portal")
CUSTOMER = Message("The customer")
# what nobody of the works did was done by the customer, through the link
BY_THE_CUSTOMER = (
    EventVerb.BOOK,
    EventVerb.CALL_OFF,
    EventVerb.RESCHEDULE,
    EventVerb.FINISH,
    EventVerb.CONTACT,
    EventVerb.MAY_FETCH,
    EventVerb.PICKUP_TIME,
    EventVerb.RECORD_LINK,
    EventVerb.QUESTION,
    EventVerb.CASE,
    EventVerb.HAND_OVER,
)

# events of jobs; {who}, {part}, {note}, {was} and {now} are filled where a sentence names them
_JOB = {
    "book": Message("{who} booked the job.", who=""),
    "arrived": Message("{who} checked part {part}: as declared.", who="", part=""),
    "reopened": Message("{who} took back the check of part {part}.", who="", part=""),
    "tag": Message("{who} put tag {note} on part {part}.", who="", note="", part=""),
    "untag": Message("{who} took tag {note} off part {part}.", who="", note="", part=""),
    "hang": Message("{who} noted where the parts hang: {note}", who="", note=""),
    "corner": Message("{who} noted where part {part} sat: {note}", who="", part="", note=""),
    "stamp": Message("{who} wrote down the stamp of part {part}: {note}", who="", part="", note=""),
    "bag": Message("{who} added a hardware bag. {note}", who="", note=""),
    "bag_off": Message("{who} removed a hardware bag. {note}", who="", note=""),
    "finding": Message("{who} reported a finding. {note}", who="", note=""),
    "accepted": Message("The customer agreed to a finding. Recorded by: {who}", who=""),
    "declined": Message("The customer declined a finding. Recorded by: {who}", who=""),
    "withdrawn": Message("{who} withdrew a finding.", who=""),
    "colour": Message("{who} recorded the colour that the customer chose. {note}", who="", note=""),
    "finish": Message("{who} changed colour or finish: {note}", who="", note=""),
    "contact": Message("{who} changed how to be reached: {note}", who="", note=""),
    "may_fetch": Message("{who} changed who else may fetch the parts.", who=""),
    "pickup_time": Message("{who} means to collect the parts: {note}", who="", note=""),
    "record_link": Message("{who} made a link to the record of the parts.", who=""),
    "receive": Message("{who} received the job.", who=""),
    "start": Message("{who} started the work.", who=""),
    "wait": Message("{who} stopped the work: the job waits for the customer.", who=""),
    "resume": Message("{who} recorded the last open answer of the customer.", who=""),
    "move": Message(
        "{who} moved part {part} from {was} to {now}.", who="", part="", was="", now=""
    ),
    "undo": Message("{who} undid a move: part {part} is back at {now}.", who="", part="", now=""),
    "rework": Message("{who} sent part {part} back for rework: {note}", who="", part="", note=""),
    "check": Message("{who} recorded a test. {note}", who="", note=""),
    "baked_despite": Message(
        "{who} agreed to bake part {part} otherwise than planned: {note}",
        who="",
        part="",
        note="",
    ),
    "baked_otherwise": Message(
        "Part {part} was baked otherwise than planned: {note} Closed by: {who}",
        who="",
        part="",
        note="",
    ),
    "heat_leave": Message(
        "{who} recorded the maker's permission for more heat, part {part}: {note}",
        who="",
        part="",
        note="",
    ),
    "run_in": Message("{who} put part {part} in strip run {run}.", who="", part="", run=""),
    "run_out": Message("{who} took part {part} out of strip run {run}.", who="", part="", run=""),
    "run_sent": Message(
        "{who} sent part {part} off with strip run {run}.", who="", part="", run=""
    ),
    "run_missing": Message(
        "Part {part} did not come back with strip run {run}. Closed by: {who}",
        who="",
        part="",
        run="",
    ),
    "inspect": Message("{who} inspected part {part}: {note}", who="", part="", note=""),
    "make_ready": Message("{who} put the job on the shelf: ready for pickup.", who=""),
    "take_back": Message("{who} took the job back from the shelf.", who=""),
    "pay_card": Message("{who} took {sum} by card.", who="", sum=""),
    "pay_cash": Message("{who} took {sum} in cash.", who="", sum=""),
    "pay_transfer": Message("{who} recorded a bank transfer of {sum}.", who="", sum=""),
    "refund": Message("{who} gave money back: {note}", who="", note=""),
    "discount": Message("{who} gave a discount: {note}", who="", note=""),
    "goodwill": Message("{who} gave goodwill: {note}", who="", note=""),
    "reverse": Message("{who} reversed an entry of the account: {note}", who="", note=""),
    "over_limit": Message("{who} let the firm owe more than its limit: {note}", who="", note=""),
    "hand_back": Message("{who} handed the job back.", who=""),
    "hand_back_undone": Message("{who} took the hand-back back: {note}", who="", note=""),
    "not_fetched": Message(
        "{who} ended the job, because nobody collected it. {note}", who="", note=""
    ),
    "reminded": Message("{who} reminded the customer to collect the parts.", who=""),
    "call_off": Message("{who} cancelled the job. {note}", who="", note=""),
    "reschedule": Message("{who} moved the drop-off to {note}.", who="", note=""),
    "miss": Message("{who} marked the job as not brought.", who=""),
    "turn_away": Message("{who} did not accept the job. {note}", who="", note=""),
    "written_off": Message("{who} wrote off part {part} as lost: {note}", who="", part="", note=""),
    "found": Message("{who} found part {part} again.", who="", part=""),
    "shelf": Message("{who} put the job on shelf place {note}.", who="", note=""),
    "note": Message("{who} wrote a note for staff.", who=""),
    "note_off": Message("{who} removed a note for staff.", who=""),
    "new_date": Message("{who} wrote to the customer about a new date: {note}", who="", note=""),
    "on_time": Message(
        "{who} wrote to the customer that the promised date holds after all: {note}",
        who="",
        note="",
    ),
    "closed_day": Message("{who} told the customer of a closed day: {note}", who="", note=""),
    "asked_again": Message("{who} reminded the customer of an open question.", who=""),
    "called": Message("{who} called the customer.", who=""),
    "hand_over": Message("{who} leaves it to the works to take off: {note}", who="", note=""),
    "question": Message("{who} asked a question by the link.", who=""),
    "case": Message("{who} reported by the link that something is wrong.", who=""),
    "answer": Message("{who} answered the customer.", who=""),
    "case_closed": Message("{who} closed what was wrong as settled.", who=""),
}

# the office's record; {what} is what was written down beside
_OFFICE = {
    "sign_in": Message("{who} signed in.", who=""),
    "wrong_password": Message("{who} refused a wrong password for: {what}", who="", what=""),
    "wrong_code": Message("{who} refused a wrong sign-in code for: {what}", who="", what=""),
    "wrong_pin": Message("{who} refused a wrong PIN for: {what}", who="", what=""),
    "recovery_codes": Message("{who} made new recovery codes.", who=""),
    "recovery_code_used": Message("{who} signed in with a recovery code.", who=""),
    "unlock": Message("{who} unlocked a shared device.", who=""),
    "not_allowed": Message(
        "{who} was refused a page that their role does not open: {what}", who="", what=""
    ),
    "end_device": Message("{who} signed out on another device. {what}", who="", what=""),
    "end_devices": Message("{who} signed out on all other devices.", who=""),
    "new_password": Message("{who} chose a new password.", who=""),
    "new_pin": Message("{who} chose a new PIN.", who=""),
    "pin_off": Message("{who} removed a PIN: {what}", who="", what=""),
    "give_password": Message("{who} gave a new password to: {what}", who="", what=""),
    "second_factor_on": Message("{who} switched the sign-in code on for: {what}", who="", what=""),
    "second_factor_off": Message(
        "{who} switched the sign-in code off for: {what}", who="", what=""
    ),
    "add_person": Message("{who} added a person: {what}", who="", what=""),
    "renew_person": Message("{who} gave a person a new sign-in: {what}", who="", what=""),
    "answer_question": Message("{who} answered a question. {what}", who="", what=""),
    "close_question": Message("{who} closed a question without a letter. {what}", who="", what=""),
    "erase_question": Message("{who} erased a question. {what}", who="", what=""),
    "change_person": Message("{who} changed a person: {what}", who="", what=""),
    "put_prices": Message("{who} changed the prices. {what}", who="", what=""),
    "put_week": Message("{who} changed the week. {what}", who="", what=""),
    "put_stations": Message("{who} changed the stations. {what}", who="", what=""),
    "put_place": Message("{who} changed the country or its rules. {what}", who="", what=""),
    "put_shop": Message("{who} changed the page “Your works”. {what}", who="", what=""),
    "put_letters": Message("{who} changed the texts of the letters. {what}", who="", what=""),
    "put_translations": Message("{who} changed the translations. {what}", who="", what=""),
    "put_privacy": Message("{who} changed the privacy page. {what}", who="", what=""),
    "put_terms": Message("{who} changed the terms. {what}", who="", what=""),
    "put_invoicing": Message("{who} changed what stands on invoices. {what}", who="", what=""),
    "correct_invoice": Message("{who} put an invoice right: {what}", who="", what=""),
    "close_till": Message("{who} closed the till: number {what}.", who="", what=""),
    "add_firm": Message("{who} added a trade customer: {what}", who="", what=""),
    "change_firm": Message("{who} changed a trade customer: {what}", who="", what=""),
    "close_firm": Message("{who} closed a trade customer: {what}", who="", what=""),
    "put_firm_prices": Message("{who} changed a firm's prices: {what}", who="", what=""),
    "send_firm_link": Message("{who} sent a firm the link to its page: {what}", who="", what=""),
    "end_firm_links": Message("{who} ended the links of a firm: {what}", who="", what=""),
    "issue_month": Message("{who} issued a firm's invoice: {what}", who="", what=""),
    "cancel_month": Message("{who} cancelled a firm's invoice: {what}", who="", what=""),
    "pay_month": Message("{who} recorded a payment for an invoice: {what}", who="", what=""),
    "unpay_month": Message("{who} reversed a payment for an invoice: {what}", who="", what=""),
    "remind_firm": Message("{who} reminded a firm to pay: {what}", who="", what=""),
    "over_limit": Message("{who} let a firm owe more than its limit: {what}", who="", what=""),
    "put_powder": Message("{who} changed a powder. {what}", who="", what=""),
    "delivery": Message("{who} recorded a delivery of powder. {what}", who="", what=""),
    "order_powder": Message("{who} ordered powder. {what}", who="", what=""),
    "order_off": Message("{who} removed an order of powder. {what}", who="", what=""),
    "load": Message("{who} took powder for an oven load. {what}", who="", what=""),
    "stocktake": Message("{who} counted a powder. {what}", who="", what=""),
    "correction": Message("{who} corrected the stock of a powder. {what}", who="", what=""),
    "import_shop": Message("{who} read the shop from its files: {what}", who="", what=""),
    "waived_check": Message("{who} let parts go on without a test. {what}", who="", what=""),
    "reopened_check": Message("{who} had a test done again. {what}", who="", what=""),
    "export": Message("{who} exported the data: {what}", who="", what=""),
    "send_again": Message("{who} sent a letter again: {what}", who="", what=""),
    "test_letter": Message("{who} sent a test letter.", who=""),
    "erase_person": Message("{who} erased a customer: {what}", who="", what=""),
    "export_person": Message("{who} exported what is kept of a customer: {what}", who="", what=""),
    "send_kept_scans": Message("{who} sent scans that a device had kept. {what}", who="", what=""),
}
_OTHER = Message("{who}: {verb} {what}", who="", verb="", what="")


def job_said(
    event: Event,
    *,
    who: str,
    part: int | None,
    moved: tuple[Titled | None, Titled | None],
    currency: str,
) -> Message:
    """Return the sentence of an event of a job; `who` is empty for the portal itself."""
    doer = who or (CUSTOMER if event.verb in BY_THE_CUSTOMER else SYSTEM)
    was, now = moved
    values = {"note": event.beside, "part": part or "–", "was": was or "–", "now": now or "–"}
    paid = {"sum": Money(int(event.data["minor"]), currency)} if "minor" in event.data else {}
    run = {"run": event.data["run"]} if "run" in event.data else {}
    filled = {**values, **paid, **run, "who": doer}
    return _filled(_JOB.get(event.key), filled, event.verb, event.beside)


def office_said(verb: str, *, who: str, what: str | Message) -> Message:
    """Return the sentence of an entry of the office's record."""
    return _filled(_OFFICE.get(verb), {"who": who or SYSTEM, "what": what}, verb, what)


def _filled(sentence: Message | None, values: dict[str, Any], verb: str, what: Any) -> Message:
    if sentence is None or not set(sentence.values) <= set(values):
        other = {"who": values["who"], "verb": verb.replace("_", " "), "what": what}
        return Message(_OTHER.msgid, **other)
    return Message(sentence.msgid, **{name: values[name] for name in sentence.values})
