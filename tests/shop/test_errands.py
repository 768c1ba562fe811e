"""What the customer does, in order: each errand list written out by hand."""

from dataclasses import replace
from datetime import date

import pytest

from portal.craft.answers import Caution, CautionKind
from portal.craft.bringing import NewTyres, Whereabouts
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Declared, Item, Metal, PartKind, PartSet, Remover
from portal.craft.safe_errands import BRAKE_DUST, LIFTING, LIFTING_FOR_CALIPERS
from portal.shop.assessment.assess import Assessment
from portal.shop.pricing.errands import errands
from portal.shop.pricing.quote import quote
from portal.shop.pricing.statements import PriceStatement
from tests.readers import english
from tests.shop.appraised import answer, appraisal, declared, removal, tariff, wheels

LIFT, DUST, LIFT_CALIPERS = map(english, (LIFTING, BRAKE_DUST, LIFTING_FOR_CALIPERS))
PICK_UP = "Pick them up when they are ready."
ON_AGAIN = "Put the wheels back on and tighten them to the torque in the vehicle handbook."
TYRES_OFF = "Have a tyre shop take off the tyres, valves and sensors, and keep them."
TYRES_ON = "Have a tyre shop fit and balance the tyres, with new valves or sensor seals."
NEW_ON = "Have your tyre shop fit and balance the new tyres, with new valves or sensor seals."
NEW_TOO = "Bring the new tyres too."
FITTED = "Bring us the wheels with everything fitted to them."
WITHOUT = "Bring us the wheels without tyres."
DRY = "Bring us the wheels, dry and free of loose dirt."
WHOLE, COMPLETE, BARE = Bringing.WHOLE_CAR, Bringing.COMPLETE, Bringing.BARE
ON_CAR, OFF_CAR, AS_BARE = Whereabouts.ON_CAR, None, Whereabouts.BARE
LOOSE = next(one for one in Whereabouts if one not in (ON_CAR, AS_BARE))
US, YOU = Remover.US, Remover.YOU


def told(
    who: Remover | None, new: NewTyres, bringing: Bringing, whereabouts: Whereabouts | None
) -> list[str]:
    one = wheels(fitted=(Item.TYRE,), removers={Item.TYRE: who or US}, new_tyres=new)
    off = [removal(Item.VALVE), *([removal(Item.TYRE)] if who else [])]
    found = answer(one, off=off)
    order = declared(found, bringing=bringing, whereabouts=whereabouts)
    return [english(each) for each in errands(order, appraisal(found, bringing=bringing), 0)]


CASES = [
    (
        (US, NewTyres.SAME, WHOLE, ON_CAR),
        [
            "Drive the car to us. You'll need a lift home.",
            "Pick up the car when the wheels are back on.",
        ],
    ),
    (
        (US, NewTyres.BRING, WHOLE, ON_CAR),
        [
            "Drive the car to us. You'll need a lift home.",
            NEW_TOO,
            "Pick up the car when the wheels are back on.",
        ],
    ),
    ((US, NewTyres.SAME, COMPLETE, ON_CAR), [LIFT, DUST, FITTED, PICK_UP, ON_AGAIN]),
    ((US, NewTyres.SAME, COMPLETE, None), [LIFT, DUST, FITTED, PICK_UP, ON_AGAIN]),
    ((US, NewTyres.SAME, COMPLETE, LOOSE), [DUST, FITTED, PICK_UP]),
    ((US, NewTyres.BRING, COMPLETE, LOOSE), [DUST, FITTED, NEW_TOO, PICK_UP]),
    ((US, NewTyres.LATER, COMPLETE, ON_CAR), [LIFT, DUST, FITTED, PICK_UP, NEW_ON, ON_AGAIN]),
    (
        (YOU, NewTyres.SAME, BARE, ON_CAR),
        [LIFT, DUST, TYRES_OFF, WITHOUT, PICK_UP, TYRES_ON, ON_AGAIN],
    ),
    # who takes the tyres off puts on which they like: nothing is said of new ones
    ((YOU, NewTyres.LATER, BARE, LOOSE), [DUST, TYRES_OFF, WITHOUT, PICK_UP, TYRES_ON]),
    ((YOU, NewTyres.BRING, BARE, LOOSE), [DUST, TYRES_OFF, WITHOUT, PICK_UP, TYRES_ON]),
    ((None, NewTyres.BRING, BARE, AS_BARE), [DUST, DRY, PICK_UP]),
    ((None, NewTyres.LATER, BARE, LOOSE), [DUST, WITHOUT, PICK_UP]),
]


@pytest.mark.parametrize(("order", "says"), CASES)
def test_the_errands_of_wheels(order, says: list[str]) -> None:
    assert told(*order) == says


def parts(*kinds: PartKind, days: int = 0, **more) -> list[str]:
    answers = [
        answer(wheels() if kind is PartKind.WHEEL else PartSet(str(n), kind, 2, metal=Metal.STEEL))
        for n, kind in enumerate(kinds)
    ]
    order = declared(*answers, **{"bringing": BARE, "whereabouts": LOOSE, **more})
    return [english(one) for one in errands(order, appraisal(*answers), days)]


PARTS = "Bring the parts to us, dry and free of loose dirt."
OFF = (
    "Have a brake workshop take the calipers off the car and empty them. Without them the car "
    "can't be driven."
)
REBUILD = "Have a brake workshop rebuild the calipers, fit them and bleed the brakes."


def test_the_errands_of_other_parts() -> None:
    assert parts(PartKind.TUBE) == [PARTS, PICK_UP]
    assert parts(PartKind.CALIPER) == [OFF, LIFT_CALIPERS, DUST, PARTS, PICK_UP, REBUILD]
    assert parts(PartKind.WHEEL, PartKind.TUBE) == [
        DUST,
        WITHOUT,
        PICK_UP,
        "Bring the other parts with the wheels, dry and free of loose dirt.",
    ]
    assert parts(PartKind.WHEEL, PartKind.CALIPER, whereabouts=ON_CAR) == [
        OFF,
        LIFT,
        DUST,
        WITHOUT,
        PICK_UP,
        ON_AGAIN,
        "Bring the other parts with the wheels, dry and free of loose dirt.",
        REBUILD,
    ]


@pytest.mark.parametrize(
    ("kind", "days", "says"),
    [
        (
            PartKind.WHEEL,
            1,
            "Your car is off the road for about one working day, unless you have other wheels.",
        ),
        (
            PartKind.WHEEL,
            2,
            "Your car is off the road for about 2 working days, unless you have other wheels.",
        ),
        (PartKind.CALIPER, 1, "Your car is off the road for about one working day."),
        (PartKind.CALIPER, 3, "Your car is off the road for about 3 working days."),
    ],
)
def test_how_long_the_car_stands(kind: PartKind, days: int, says: str) -> None:
    assert parts(kind, days=days) == [*parts(kind), says]


def test_one_set_without_its_tyres_decides_for_all() -> None:
    ours = answer(
        wheels(fitted=(Item.TYRE,), removers={Item.TYRE: US}, new_tyres=NewTyres.BRING),
        off=[removal(Item.TYRE)],
    )
    theirs = answer(
        replace(wheels(fitted=(Item.TYRE,), removers={Item.TYRE: YOU}), key="B"),
        off=[removal(Item.TYRE)],
    )
    same = answer(
        replace(wheels(fitted=(Item.TYRE,), removers={Item.TYRE: US}), key="C"),
        off=[removal(Item.TYRE)],
    )

    def said(*answers) -> list[str]:
        order = declared(*answers, bringing=COMPLETE, whereabouts=LOOSE)
        return [english(one) for one in errands(order, appraisal(*answers), 0)]

    assert said(ours, theirs) == [DUST, TYRES_OFF, FITTED, PICK_UP, TYRES_ON]
    assert said(same, ours) == [DUST, FITTED, NEW_TOO, PICK_UP]


# -- what an assessment hands on --------------------------------------------------------------


def caution(kind: CautionKind, key: str) -> Caution:
    return Caution(key, kind, Message(f"{key}."))


def test_an_assessment_sorts_its_cautions_and_finds_its_sets() -> None:
    kinds = {kind: caution(kind, kind.name.lower()) for kind in CautionKind}
    one = replace(answer(wheels()), cautions=tuple(kinds.values()))
    two = replace(answer(replace(wheels(), key="B")), cautions=(kinds[CautionKind.CONFIRM],))
    told_ = appraisal(one, two)
    order: Declared = declared(one, two)
    priced = quote(order, told_, tariff(), date(2026, 6, 1))
    found = Assessment(order, told_, priced, {})
    assert found.sets == (one, two)
    assert (found.of_set("A"), found.of_set("B"), found.of_set("C")) == (one, two, None)
    assert found.refused == told_.refused
    assert kinds[CautionKind.REFUSE] in found.refused
    assert [c.kind for c in found.to_confirm] == [CautionKind.CONFIRM]
    assert {c.kind for c in found.to_know} == {
        CautionKind.PLACE, CautionKind.INSPECT, CautionKind.TELL,
    }  # fmt: skip
    assert found.price == PriceStatement(priced.total, priced.high)
    agreed = found.at_agreed(12345)
    assert agreed.quote.total.minor == 12345
    assert agreed.appraisal is told_
