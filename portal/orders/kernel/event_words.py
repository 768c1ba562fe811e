"""An event of a job as a clause: "part 2 was checked by Wren"."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from portal.craft.messages import Message
from portal.shop.verbs import EventVerb
from portal.store.moves import Move

# what `told` needs of an event; beside it the person's name and the part's number
EVENT = (Move.verb, Move.note, Move.says, Move.data)
DONE = {
    "arrived": Message("part {part} was checked"),
    "reopened": Message("the check of part {part} was taken back"),
    "tag": Message("part {part} got a tag"),
    "untag": Message("the tag of part {part} was taken off"),
    "stamp": Message("the stamp of part {part} was noted"),
    "hang": Message("another place to hang the parts was agreed"),
    "corner": Message("the corner of part {part} was noted"),
    "bag": Message("a hardware bag was added"),
    "bag_off": Message("a hardware bag was removed"),
    "finding": Message("a finding was reported"),
    "accepted": Message("the customer agreed to a finding"),
    "declined": Message("the customer declined a finding"),
    "withdrawn": Message("a finding was withdrawn"),
    "colour": Message("the colour was chosen"),
    "finish": Message("the customer changed colour or finish"),
    "contact": Message("the customer changed how to be reached"),
    "may_fetch": Message("the customer changed who else may fetch the parts"),
    "pickup_time": Message("the customer chose when to collect"),
    "record_link": Message("a link to the record of the parts was made"),
    "receive": Message("the job was received"),
    "start": Message("work was started"),
    "wait": Message("the job is waiting for the customer"),
    "check": Message("a test was recorded"),
    "inspect": Message("part {part} was inspected"),
    "rework": Message("part {part} went back for rework"),
    "baked_despite": Message("part {part} went in the oven otherwise than planned"),
    "baked_otherwise": Message("part {part} was baked otherwise than planned"),
    "heat_leave": Message("the maker's permission for more heat was recorded for part {part}"),
    "run_in": Message("part {part} was put in a strip run"),
    "run_out": Message("part {part} was taken out of a strip run"),
    "run_sent": Message("part {part} was sent off to be stripped"),
    "run_missing": Message("part {part} did not come back from stripping"),
    "undo": Message("a move of part {part} was undone"),
    "resume": Message("the customer's last open answer was recorded"),
    "book": Message("the job was booked"),
    "new_date": Message("the customer was written to about a new date"),
    "on_time": Message("the customer was told that the promised date holds after all"),
    "closed_day": Message("the customer was told of a closed day"),
    "asked_again": Message("the customer was reminded of an open question"),
    "make_ready": Message("the job was marked ready"),
    "take_back": Message("the job was taken back into work"),
    "hand_back": Message("the job was handed back"),
    "hand_back_undone": Message("the hand-back was taken back"),
    "not_fetched": Message("the job was ended: nobody collected it"),
    "reminded": Message("the customer was reminded to collect"),
    "hand_over": Message("the customer left it to the works to take something off"),
    "question": Message("the customer asked a question"),
    "case": Message("the customer reported that something is wrong"),
    "answer": Message("the customer got an answer"),
    "case_closed": Message("what was wrong was settled"),
    "pay_card": Message("a card payment was recorded"),
    "pay_cash": Message("a cash payment was recorded"),
    "pay_transfer": Message("a bank transfer was recorded"),
    "refund": Message("a refund was recorded"),
    "discount": Message("a discount was given"),
    "goodwill": Message("goodwill was given"),
    "reverse": Message("an entry of the account was reversed"),
    "over_limit": Message("more than the limit may be owed"),
    "call_off": Message("the job was cancelled"),
    "reschedule": Message("the drop-off was moved"),
    "miss": Message("the job was marked as not brought"),
    "turn_away": Message("the job was not accepted"),
    "written_off": Message("part {part} was written off as lost"),
    "called": Message("the customer was called"),
    "found": Message("part {part} was found"),
    "shelf": Message("the place on the shelf was noted"),
    "note": Message("a note for staff was written"),
    "note_off": Message("a note for staff was removed"),
}


@dataclass(frozen=True, slots=True)
class Event:
    """An event as it stands in its row: typed note, what was stated, and figures."""

    verb: EventVerb
    note: str
    says: Message | None
    data: Mapping[str, Any]

    @property
    def key(self) -> str:
        """The verb; an answer and a payment by what they were."""
        if self.verb == EventVerb.SETTLE:
            return str(self.data.get("answer", self.verb))
        return f"pay_{self.data.get('how', '')}" if self.verb == EventVerb.PAY else self.verb

    @property
    def beside(self) -> Message | str | date:
        """What stands beside the verb: a statement, a day, or what somebody typed."""
        if self.says is not None:
            return self.says
        return date.fromisoformat(self.data["day"]) if "day" in self.data else self.note


def event_clause(event: Event, who: str | None, part: int | None) -> Message:
    """Return an event as a clause with its person."""
    if event.key in DONE:
        done = Message(DONE[event.key].msgid, part=part or "")
    elif part is not None:
        done = Message("part {part} was moved", part=part)
    else:
        done = Message("something was recorded ({verb})", verb=str(event.verb))
    beside = event.beside
    with_note = Message("{done} ({note})", done=done, note=beside) if beside else done
    return Message("{done} by {who}", done=with_note, who=who) if who else with_note
