"""The life of a job: the words, and the one table of what may follow what."""

from portal.craft.titled import Titled


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
        """Whether the job ended before its work was done."""
        return self in (JobState.CALLED_OFF, JobState.TURNED_AWAY)

    def allows(self, verb: str) -> bool:
        """Return whether a verb of `JOB_MOVES` may start here."""
        return self in JOB_MOVES[verb][0]


IN_HOUSE = frozenset({JobState.RECEIVED, JobState.WAITING, JobState.IN_WORK})
# what the floor has before it: whom it expects, and whom it has
AHEAD = IN_HOUSE | {JobState.BOOKED}

JOB_MOVES: dict[str, tuple[frozenset[JobState], JobState]] = {
    "receive": (frozenset({JobState.BOOKED, JobState.NOT_BROUGHT}), JobState.RECEIVED),
    "wait": (frozenset({JobState.RECEIVED, JobState.IN_WORK}), JobState.WAITING),
    "resume": (frozenset({JobState.WAITING}), JobState.RECEIVED),
    "start": (frozenset({JobState.RECEIVED, JobState.WAITING}), JobState.IN_WORK),
    "make_ready": (frozenset({JobState.IN_WORK}), JobState.READY),
    "take_back": (frozenset({JobState.READY}), JobState.IN_WORK),
    "hand_back": (frozenset({JobState.READY}), JobState.HANDED_BACK),
    "miss": (frozenset({JobState.BOOKED}), JobState.NOT_BROUGHT),
    "call_off": (
        frozenset({JobState.BOOKED, JobState.NOT_BROUGHT, JobState.RECEIVED, JobState.WAITING}),
        JobState.CALLED_OFF,
    ),
    "turn_away": (frozenset({JobState.RECEIVED, JobState.WAITING}), JobState.TURNED_AWAY),
}
