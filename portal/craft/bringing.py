"""Where wheels are before they are brought, and which tyres they get afterwards."""

from portal.craft.titled import Titled


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
