"""Where wheels are before they are brought, what that costs their owner, and their next tyres."""

from dataclasses import dataclass
from typing import Annotated

from portal.craft.schema import Table, whole
from portal.craft.titled import Titled

# a customer's own cost, in minor units
DEAREST = 10_000_00


class Whereabouts(Titled):
    """Where the wheels are before they are brought."""

    ON_CAR = "on_car", "On the car"
    OFF = "off", "Off the car, tyres on"
    BARE = "bare", "Bare already"


class NewTyres(Titled):
    """Which tyres the wheels get after coating, and who brings them."""

    SAME = "same", "No, the same tyres go back on"
    BRING = "bring", "Yes, I bring them with the wheels"
    LATER = "later", "Yes, my tyre shop fits them later"


@dataclass(frozen=True, slots=True)
class OwnCosts(Table):
    """What the customer's own errands cost, in minor units of the shop's currency.

    A field left at None takes the shop's customary figure.
    """

    tyre_off_on_each: Annotated[int | None, whole(0, DEAREST)] = None
    trip: Annotated[int | None, whole(0, DEAREST)] = None
    day_without_car: Annotated[int | None, whole(0, DEAREST)] = None
