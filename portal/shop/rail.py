"""The rail that shows a job's progress: its stops, what is done, where it is.

The job is as far as its least advanced part. A rework takes stops back: the rail shows it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from portal.craft.messages import Message
from portal.shop.moves import JobState, PartStage


class StopState(StrEnum):
    """Whether a stop is done, present, or still to come."""

    DONE = "done"
    NOW = "now"
    NEXT = "next"


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop. `at` is when it was done, or for when it is planned; aware UTC."""

    title: Message
    state: StopState
    at: datetime | None = None
    note: Message | None = None


@dataclass(frozen=True, slots=True)
class Travelled:
    """One part on the rail: its plan, its stage, and how often it was reworked."""

    part_id: int
    stage: PartStage
    coats: int
    coats_done: int
    strip: bool
    refit: bool
    reworks: int = 0


@dataclass(frozen=True, slots=True)
class PartMove:
    """One event of a part: `verb` is move, rework or undo."""

    part_id: int
    verb: str
    from_: PartStage
    to: PartStage
    at: datetime


@dataclass(frozen=True, slots=True)
class Dates:
    """The job's own dates, aware UTC."""

    booked_at: datetime
    dropoff_at: datetime
    received_at: datetime | None = None
    ready_at: datetime | None = None
    handed_back_at: datetime | None = None


_COATS = (
    Message("First coat"),
    Message("Second coat"),
    Message("Third coat"),
    Message("Fourth coat"),
)
_SAYS = {
    "prep": Message("We take small parts off and bag them, and cover what stays bare."),
    "strip": Message("Old paint off: a partner company takes it off in a bath."),
    "blast": Message("Cleaned with fine grit."),
    "coat": Message("We spray on the powder and melt it in the oven."),
    "inspect": Message("We measure the thickness and check the whole surface."),
    "refit": Message("We put back what we took off."),
}
_AGAIN = Message("We weren't happy with one part and are doing it again.")
_END = 99


def rail(
    state: JobState, parts: Sequence[Travelled], moves: Iterable[PartMove], dates: Dates
) -> tuple[Stop, ...]:
    """Return the stops of a job in order, exactly one of them NOW until it is handed back."""
    stops = [Stop(Message("Booked"), StopState.DONE, dates.booked_at)]
    arrived = dates.received_at is not None
    stops.append(_dropped_off(state, dates))
    keys = _keys(parts)
    left = _left_at(parts, moves)
    at_work = arrived and state in (JobState.RECEIVED, JobState.WAITING, JobState.IN_WORK)
    over = state in (JobState.READY, JobState.HANDED_BACK)
    found_now = not at_work
    for key in keys:
        there = [p for p in parts if key in _way(p)]
        done = over or (arrived and all(_position(p, keys) > keys.index(key) for p in there))
        when = max((t for p in there if (t := left.get((p.part_id, key)))), default=None)
        if (done and not found_now) or over:
            stops.append(Stop(_title(key, keys), StopState.DONE, when))
        elif not found_now:
            found_now = True
            stops.append(Stop(_title(key, keys), StopState.NOW, None, _note(key, state, there)))
        else:
            stops.append(Stop(_title(key, keys), StopState.NEXT))
    return (*stops, *_ends(state, dates, packing=not found_now))


def _dropped_off(state: JobState, dates: Dates) -> Stop:
    if dates.received_at is not None:
        return Stop(Message("Dropped off"), StopState.DONE, dates.received_at)
    note = None
    if state is JobState.NOT_BROUGHT:
        note = Message("You didn't come. Call us to find another time.")
    return Stop(Message("Drop-off"), StopState.NOW, dates.dropoff_at, note)


def _ends(state: JobState, dates: Dates, *, packing: bool) -> tuple[Stop, Stop]:
    home = Stop(Message("Collected"), StopState.NEXT)
    if state is JobState.HANDED_BACK:
        ready = Stop(Message("Ready"), StopState.DONE, dates.ready_at)
        return (ready, Stop(Message("Collected"), StopState.DONE, dates.handed_back_at))
    if state is JobState.READY:
        return (Stop(Message("Ready"), StopState.NOW, dates.ready_at), home)
    if packing:
        note = Message("Finished. We are putting your parts together for pickup.")
        return (Stop(Message("Ready"), StopState.NOW, None, note), home)
    return (Stop(Message("Ready"), StopState.NEXT), home)


def _note(key: str, state: JobState, there: Sequence[Travelled]) -> Message:
    if state is JobState.WAITING:
        return Message("We are waiting for your answer.")
    if key == "blast" and any(p.reworks and p.stage is PartStage.BLAST for p in there):
        return _AGAIN
    return _SAYS[key.partition(":")[0]]


def _title(key: str, keys: Sequence[str]) -> Message:
    titles = {
        "prep": Message("Prep"),
        "strip": Message("Strip"),
        "blast": Message("Blast"),
        "inspect": Message("Inspect"),
        "refit": Message("Refit"),
    }
    if key in titles:
        return titles[key]
    number = int(key.partition(":")[2])
    if "coat:2" not in keys:
        return Message("Coat")
    return _COATS[number - 1] if number <= len(_COATS) else Message("Coat {number}", number=number)


def _way(part: Travelled) -> tuple[str, ...]:
    coats = tuple(f"coat:{n}" for n in range(1, part.coats + 1))
    strip = ("strip",) if part.strip else ()
    refit = ("refit",) if part.refit else ()
    return ("prep", *strip, "blast", *coats, "inspect", *refit)


def _keys(parts: Sequence[Travelled]) -> list[str]:
    """The stops that any part makes, in the order of work."""
    most = max((p.coats for p in parts), default=1)
    whole = (
        "prep",
        "strip",
        "blast",
        *(f"coat:{n}" for n in range(1, most + 1)),
        "inspect",
        "refit",
    )
    ways = {key for p in parts for key in _way(p)} or {"prep", "blast", "coat:1", "inspect"}
    return [key for key in whole if key in ways]


def _position(part: Travelled, keys: Sequence[str]) -> int:
    key = _key_of(part.stage, part.coats_done)
    return keys.index(key) if key in keys else _END


def _key_of(stage: PartStage, coats_done: int) -> str:
    if stage in (PartStage.COAT, PartStage.CURE):
        return f"coat:{coats_done + 1}"
    if stage is PartStage.EXPECTED:
        return "prep"
    return stage.value if stage not in (PartStage.DONE, PartStage.GONE) else ""


@dataclass(slots=True)
class _Replay:
    """A part's way so far: when it left each stop, and how many coats were on it."""

    coats_done: int = 0
    left: dict[str, datetime] = field(default_factory=dict)
    before: list[tuple[int, dict[str, datetime]]] = field(default_factory=list)


def _left_at(
    parts: Sequence[Travelled], moves: Iterable[PartMove]
) -> dict[tuple[int, str], datetime]:
    replays = {p.part_id: _Replay() for p in parts}
    for move in moves:
        if (one := replays.get(move.part_id)) is not None:
            _step(one, move)
    return {(part_id, key): at for part_id, one in replays.items() for key, at in one.left.items()}


def _step(one: _Replay, move: PartMove) -> None:
    if move.verb == "undo":
        if one.before:
            one.coats_done, one.left = one.before.pop()
        return
    one.before.append((one.coats_done, dict(one.left)))
    if move.verb == "rework":
        one.coats_done = 0
        one.left = {key: at for key, at in one.left.items() if key in ("prep", "strip")}
        return
    # out of the booth and into the oven is still the same coat
    if move.from_ is not PartStage.COAT:
        one.left[_key_of(move.from_, one.coats_done)] = move.at
    if move.from_ is PartStage.CURE:
        one.coats_done += 1
