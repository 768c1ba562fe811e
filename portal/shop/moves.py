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
