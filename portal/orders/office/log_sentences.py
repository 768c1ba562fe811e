"""What somebody did, as one sentence of the log: "Wren took £336.00 by card."

Every verb of a job's events and of the office's record has its sentence; one that has none yet is
told by its own name, so that no entry is ever lost.
"""

from collections.abc import Mapping
from typing import Any

from portal.craft.parts import Titled
from portal.craft.say import Said, say
from portal.shop.money import Money

SYSTEM = say("The portal")
CUSTOMER = say("The customer")

# events of jobs; {who}, {part}, {note}, {was} and {now} are filled where a sentence names them
_JOB = {
    "book": say("{who} booked the job.", who=""),
    "arrived": say("{who} checked part {part}: as declared.", who="", part=""),
    "reopened": say("{who} took back the check of part {part}.", who="", part=""),
    "tag": say("{who} put tag {note} on part {part}.", who="", note="", part=""),
    "untag": say("{who} took tag {note} off part {part}.", who="", note="", part=""),
    "stamp": say("{who} wrote down the stamp of part {part}: {note}", who="", part="", note=""),
    "bag": say("{who} added a hardware bag. {note}", who="", note=""),
    "bag_off": say("{who} removed a hardware bag. {note}", who="", note=""),
    "finding": say("{who} reported a finding. {note}", who="", note=""),
    "accepted": say("The customer agreed to a finding. Recorded by: {who}", who=""),
    "declined": say("The customer declined a finding. Recorded by: {who}", who=""),
    "withdrawn": say("{who} withdrew a finding.", who=""),
    "colour": say("{who} recorded the colour that the customer chose. {note}", who="", note=""),
    "receive": say("{who} received the job.", who=""),
    "start": say("{who} started the work.", who=""),
    "wait": say("{who} stopped the work: the job waits for the customer.", who=""),
    "resume": say("{who} recorded the last open answer of the customer.", who=""),
    "move": say("{who} moved part {part} from {was} to {now}.", who="", part="", was="", now=""),
    "undo": say("{who} undid a move: part {part} is back at {now}.", who="", part="", now=""),
    "rework": say("{who} sent part {part} back for rework: {note}", who="", part="", note=""),
    "inspect": say("{who} inspected part {part}: {note}", who="", part="", note=""),
    "make_ready": say("{who} put the job on the shelf: ready for pickup.", who=""),
    "take_back": say("{who} took the job back from the shelf.", who=""),
    "pay_card": say("{who} took {sum} by card.", who="", sum=""),
    "pay_cash": say("{who} took {sum} in cash.", who="", sum=""),
    "pay_transfer": say("{who} recorded a bank transfer of {sum}.", who="", sum=""),
    "hand_back": say("{who} handed the job back.", who=""),
    "call_off": say("{who} cancelled the job. {note}", who="", note=""),
    "miss": say("{who} marked the job as not brought.", who=""),
    "turn_away": say("{who} did not accept the job. {note}", who="", note=""),
    "written_off": say("{who} wrote off part {part} as lost: {note}", who="", part="", note=""),
    "found": say("{who} found part {part} again.", who="", part=""),
    "new_date": say("{who} wrote to the customer about a new date: {note}", who="", note=""),
    "called": say("{who} called the customer.", who=""),
}

# the office's record; {what} is what was written down beside
_OFFICE = {
    "sign_in": say("{who} signed in.", who=""),
    "unlock": say("{who} unlocked a shared device.", who=""),
    "end_devices": say("{who} signed out on all other devices.", who=""),
    "new_password": say("{who} chose a new password.", who=""),
    "new_pin": say("{who} chose a new PIN.", who=""),
    "pin_off": say("{who} removed a PIN: {what}", who="", what=""),
    "give_password": say("{who} gave a new password to: {what}", who="", what=""),
    "second_factor_on": say("{who} switched the sign-in code on for: {what}", who="", what=""),
    "second_factor_off": say("{who} switched the sign-in code off for: {what}", who="", what=""),
    "add_person": say("{who} added a person: {what}", who="", what=""),
    "renew_person": say("{who} gave a person a new sign-in: {what}", who="", what=""),
    "answer_question": say("{who} answered a question. {what}", who="", what=""),
    "close_question": say("{who} closed a question without a letter. {what}", who="", what=""),
    "erase_question": say("{who} erased a question. {what}", who="", what=""),
    "change_person": say("{who} changed a person: {what}", who="", what=""),
    "put_prices": say("{who} changed the prices. {what}", who="", what=""),
    "put_week": say("{who} changed the week. {what}", who="", what=""),
    "put_stations": say("{who} changed the stations. {what}", who="", what=""),
    "put_place": say("{who} changed the country or its rules. {what}", who="", what=""),
    "put_shop": say("{who} changed the page “Your works”. {what}", who="", what=""),
    "put_letters": say("{who} changed the texts of the letters. {what}", who="", what=""),
    "put_translations": say("{who} changed the translations. {what}", who="", what=""),
    "put_privacy": say("{who} changed the privacy page. {what}", who="", what=""),
    "put_terms": say("{who} changed the terms. {what}", who="", what=""),
    "put_powder": say("{who} changed a powder. {what}", who="", what=""),
    "delivery": say("{who} recorded a delivery of powder. {what}", who="", what=""),
    "stocktake": say("{who} counted a powder. {what}", who="", what=""),
    "correction": say("{who} corrected the stock of a powder. {what}", who="", what=""),
    "import_shop": say("{who} read the shop from its files: {what}", who="", what=""),
    "export": say("{who} exported the data: {what}", who="", what=""),
    "send_again": say("{who} sent a letter again: {what}", who="", what=""),
    "send_kept_scans": say("{who} sent scans that a device had kept. {what}", who="", what=""),
}
_OTHER = say("{who}: {verb} {what}", who="", verb="", what="")


def job_said(
    verb: str,
    *,
    who: str,
    part: int | None,
    note: str,
    moved: tuple[Titled | None, Titled | None],
    data: Mapping[str, Any],
    currency: str,
) -> Said:
    """Return the sentence of an event of a job; `who` is empty for the portal itself."""
    doer = who or (CUSTOMER if verb in ("book", "call_off") else SYSTEM)
    was, now = moved
    values = {"note": note, "part": part or "–", "was": was or "–", "now": now or "–"}
    paid = {"sum": Money(int(data["minor"]), currency)} if verb == "pay" and "minor" in data else {}
    return _filled(_JOB.get(_key(verb, note, data)), {**values, **paid, "who": doer}, verb, note)


def office_said(verb: str, *, who: str, what: str) -> Said:
    """Return the sentence of an entry of the office's record."""
    return _filled(_OFFICE.get(verb), {"who": who or SYSTEM, "what": what}, verb, what)


def _key(verb: str, note: str, data: Mapping[str, Any]) -> str:
    if verb == "settle":
        return note
    if verb == "pay":
        return f"pay_{data.get('how', '')}"
    return "reopened" if verb == "arrived" and note == "open" else verb


def _filled(sentence: Said | None, values: dict[str, Any], verb: str, what: str) -> Said:
    if sentence is None or not set(sentence.values) <= set(values):
        other = {"who": values["who"], "verb": verb.replace("_", " "), "what": what}
        return Said(_OTHER.msgid, other)
    return Said(sentence.msgid, {name: values[name] for name in sentence.values})
