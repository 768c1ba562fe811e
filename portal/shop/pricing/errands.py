"""What the customer does, in order, for each delivery option."""

from collections.abc import Iterator

from portal.craft.answers import Appraisal
from portal.craft.bringing import NewTyres, Whereabouts
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Declared, Item, PartKind, Remover
from portal.craft.safe_errands import safe_errands


def errands(order: Declared, appraisal: Appraisal, days: int) -> tuple[Message, ...]:
    """Return the customer's errands for an order brought in `order.bringing`.

    `days` is how many working days a car waits for its parts, 0 for none.
    """
    return tuple(_errands(order, appraisal, days))


def _errands(order: Declared, appraisal: Appraisal, days: int) -> Iterator[Message]:
    kinds = {one.kind for one in order.sets}
    if PartKind.CALIPER in kinds:
        yield Message(
            "Have a brake workshop take the calipers off the car and empty them. Without them "
            "the car can't be driven."
        )
    if PartKind.WHEEL not in kinds:
        yield from safe_errands(order)
    if PartKind.WHEEL in kinds:
        yield from _with_wheels(order, appraisal)
        if kinds - {PartKind.WHEEL}:
            yield Message("Bring the other parts with the wheels, dry and free of loose dirt.")
    else:
        yield Message("Bring the parts to us, dry and free of loose dirt.")
        yield Message("Pick them up when they are ready.")
    if PartKind.CALIPER in kinds:
        yield Message("Have a brake workshop rebuild the calipers, fit them and bleed the brakes.")
    if days:
        yield _standing(days, wheels_alone=PartKind.CALIPER not in kinds)


def _with_wheels(order: Declared, appraisal: Appraisal) -> Iterator[Message]:
    on_car = order.whereabouts in (None, Whereabouts.ON_CAR)
    tyres, new = _tyres(appraisal)
    if order.bringing is Bringing.WHOLE_CAR:
        yield Message("Drive the car to us. You'll need a lift home.")
        if new is NewTyres.BRING:
            yield Message("Bring the new tyres too.")
        yield Message("Pick up the car when the wheels are back on.")
        return
    yield from safe_errands(order)
    if tyres is Remover.YOU:
        yield Message("Have a tyre shop take off the tyres, valves and sensors, and keep them.")
    yield _bring(order)
    if new is NewTyres.BRING:
        yield Message("Bring the new tyres too.")
    yield Message("Pick them up when they are ready.")
    if tyres is Remover.YOU:
        yield Message(
            "Have a tyre shop fit and balance the tyres, with new valves or sensor seals."
        )
    elif new is NewTyres.LATER:
        yield Message(
            "Have your tyre shop fit and balance the new tyres, with new valves or sensor seals."
        )
    if on_car:
        yield Message(
            "Put the wheels back on and tighten them to the torque in the vehicle handbook."
        )


def _tyres(appraisal: Appraisal) -> tuple[Remover | None, NewTyres]:
    """Return who removes the tyres, None for nobody, and which ones the shop fits."""
    off = [
        (removal.by(answer.part_set), answer.part_set.new_tyres)
        for answer in appraisal.sets
        for removal in answer.removals
        if removal.item is Item.TYRE
    ]
    if any(who is Remover.YOU for who, _new in off):
        return (Remover.YOU, NewTyres.SAME)
    new = next((new for _who, new in off if new is not NewTyres.SAME), NewTyres.SAME)
    return (Remover.US if off else None, new)


def _bring(order: Declared) -> Message:
    if order.whereabouts is Whereabouts.BARE:
        return Message("Bring us the wheels, dry and free of loose dirt.")
    if order.bringing is Bringing.BARE:
        return Message("Bring us the wheels without tyres.")
    return Message("Bring us the wheels with everything fitted to them.")


def _standing(days: int, *, wheels_alone: bool) -> Message:
    if not wheels_alone:
        if days == 1:
            return Message("Your car is off the road for about one working day.")
        return Message("Your car is off the road for about {n} working days.", n=days)
    if days == 1:
        return Message(
            "Your car is off the road for about one working day, unless you have other wheels."
        )
    return Message(
        "Your car is off the road for about {n} working days, unless you have other wheels.", n=days
    )
