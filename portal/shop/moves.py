"""The life of a job: the words, and the one table of what may follow what."""

from portal.craft.titled import Titled
from portal.shop.verbs import EventVerb


class JobState(Titled):
    """Where a job stands as a whole."""

    BOOKED = "booked", "Booked"
    RECEIVED = "received", "Received"
    WAITING = "waiting", "Waiting for the customer"
    IN_WORK = "in_work", "In progress"
    READY = "ready", "Ready"
    HANDED_BACK = "handed_back", "Collected"
    NOT_BROUGHT = "not_brought", "Not brought"
    CALLED_OFF = "called_off", "Cancelled"
    TURNED_AWAY = "turned_away", "Not accepted"
    NOT_FETCHED = "not_fetched", "Never collected"

    @property
    def is_expected(self) -> bool:
        """Whether the parts are still to be brought."""
        return self in (JobState.BOOKED, JobState.NOT_BROUGHT)

    @property
    def is_in_house(self) -> bool:
        """Whether the parts are here and not done yet."""
        return self in IN_HOUSE

    @property
    def is_open(self) -> bool:
        """Whether the parts are still to be brought, or here and not done: the order may change."""
        return self.is_expected or self.is_in_house

    @property
    def is_done(self) -> bool:
        """Whether the work is done: the parts are ready, or were collected."""
        return self in (JobState.READY, JobState.HANDED_BACK)

    @property
    def is_off(self) -> bool:
        """Whether the job ended without a hand-back."""
        return self in (JobState.CALLED_OFF, JobState.TURNED_AWAY, JobState.NOT_FETCHED)

    def allows(self, verb: str) -> bool:
        """Return whether a verb of `JOB_MOVES` may start here."""
        return self in JOB_MOVES[EventVerb(verb)][0]


IN_HOUSE = frozenset({JobState.RECEIVED, JobState.WAITING, JobState.IN_WORK})
# what the floor has before it: whom it expects, and whom it has
AHEAD = IN_HOUSE | {JobState.BOOKED}

JOB_MOVES: dict[EventVerb, tuple[frozenset[JobState], JobState]] = {
    EventVerb.RECEIVE: (frozenset({JobState.BOOKED, JobState.NOT_BROUGHT}), JobState.RECEIVED),
    EventVerb.WAIT: (frozenset({JobState.RECEIVED, JobState.IN_WORK}), JobState.WAITING),
    EventVerb.RESUME: (frozenset({JobState.WAITING}), JobState.RECEIVED),
    EventVerb.START: (frozenset({JobState.RECEIVED, JobState.WAITING}), JobState.IN_WORK),
    # also where nobody came for so long that the job was ended, and then somebody came
    EventVerb.MAKE_READY: (frozenset({JobState.IN_WORK, JobState.NOT_FETCHED}), JobState.READY),
    EventVerb.TAKE_BACK: (frozenset({JobState.READY}), JobState.IN_WORK),
    EventVerb.HAND_BACK: (frozenset({JobState.READY}), JobState.HANDED_BACK),
    EventVerb.HAND_BACK_UNDONE: (frozenset({JobState.HANDED_BACK}), JobState.READY),
    EventVerb.NOT_FETCHED: (frozenset({JobState.READY}), JobState.NOT_FETCHED),
    EventVerb.MISS: (frozenset({JobState.BOOKED}), JobState.NOT_BROUGHT),
    EventVerb.RESCHEDULE: (frozenset({JobState.BOOKED, JobState.NOT_BROUGHT}), JobState.BOOKED),
    EventVerb.CALL_OFF: (
        frozenset({JobState.BOOKED, JobState.NOT_BROUGHT, JobState.RECEIVED, JobState.WAITING}),
        JobState.CALLED_OFF,
    ),
    EventVerb.TURN_AWAY: (frozenset({JobState.RECEIVED, JobState.WAITING}), JobState.TURNED_AWAY),
}
