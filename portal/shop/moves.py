"""The life of a job and of a part: the words, and the one table of what may follow what."""

from dataclasses import dataclass

from portal.craft.parts import Titled


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


class PartStage(Titled):
    """Where a part stands. A two-coat part passes coat and cure twice; `coats_done` tells which."""

    EXPECTED = "expected", "Not here yet"
    PREP = "prep", "Prep"
    STRIP = "strip", "Strip"
    BLAST = "blast", "Blast"
    COAT = "coat", "Coat"
    CURE = "cure", "Cure"
    INSPECT = "inspect", "Inspect"
    REFIT = "refit", "Refit"
    DONE = "done", "Done"
    GONE = "gone", "Collected"


@dataclass(frozen=True, slots=True)
class PartPlan:
    """Which stages this part needs: chemical strip or not, how many coats, refit work or not."""

    strip: bool
    coats: int
    refit: bool

    def stages(self) -> tuple[PartStage, ...]:
        """Return the stages in order, without rework."""
        way = [PartStage.PREP]
        if self.strip:
            way.append(PartStage.STRIP)
        way.append(PartStage.BLAST)
        way += [PartStage.COAT, PartStage.CURE] * self.coats
        way.append(PartStage.INSPECT)
        if self.refit:
            way.append(PartStage.REFIT)
        return (*way, PartStage.DONE)


def next_stage(stage: PartStage, plan: PartPlan, coats_done: int) -> PartStage | None:
    """Return the stage after `stage` for a part with `coats_done` coats cured, or None at the end.

    `coats_done` counts coats whose cure has ended before this move; leaving CURE counts one more.
    """
    if stage is PartStage.EXPECTED:
        return PartStage.PREP
    if stage is PartStage.PREP:
        return PartStage.STRIP if plan.strip else PartStage.BLAST
    if stage is PartStage.CURE:
        return PartStage.COAT if coats_done + 1 < plan.coats else PartStage.INSPECT
    if stage is PartStage.INSPECT:
        return PartStage.REFIT if plan.refit else PartStage.DONE
    after = {
        PartStage.STRIP: PartStage.BLAST,
        PartStage.BLAST: PartStage.COAT,
        PartStage.COAT: PartStage.CURE,
        PartStage.REFIT: PartStage.DONE,
        PartStage.DONE: PartStage.GONE,
    }
    return after.get(stage)


# rework goes back to blast from wherever a fault can be seen
REWORK_FROM = frozenset(
    {PartStage.COAT, PartStage.CURE, PartStage.INSPECT, PartStage.REFIT, PartStage.DONE}
)

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
