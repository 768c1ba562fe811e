"""Hardware bags: what to bag for the parts on site, and which bags to count again."""

from flask_babel import lazy_gettext as _l

from portal.craft.parts import Item
from portal.orders.counter.job_view import JobView

# what usually comes along in a bag, with how many belong to one wheel
LOOSE = {
    Item.CENTRE_CAP: _l("centre caps"),
    Item.SENSOR: _l("tyre-pressure sensors"),
    Item.LUG_COVERS: _l("sets of wheel nut caps"),
    Item.SPACERS: _l("spacers"),
    Item.SPIGOT_RINGS: _l("centring rings"),
    Item.BADGES: _l("badges"),
}


def _expected(job: JobView) -> dict[str, int]:
    """Return how many of each small item belong to the parts that are on site or expected."""
    found: dict[str, int] = {}
    for one in job.sets:
        count = sum(part.here for part in job.parts_of(one.key))
        for item, name in LOOSE.items():
            if item in one.fitted and count:
                found[str(name)] = found.get(str(name), 0) + count
    return found


def suggested(job: JobView) -> list[str]:
    """Return the items that are probably bagged but not recorded yet."""
    noted = " ".join(bag.contents for bag in job.bags)
    return [f"{count} {name}" for name, count in _expected(job).items() if name not in noted]


def to_recount(job: JobView) -> dict[str, str]:
    """Return the bags whose count doesn't fit the parts on site, with the count that would.

    A bag may be recorded before somebody finds that a part was not brought.
    """
    expected = _expected(job)
    found = {}
    for bag in job.bags:
        count, _gap, name = bag.contents.partition(" ")
        if count.isdecimal() and name in expected and int(count) != expected[name]:
            found[bag.label] = f"{expected[name]} {name}"
    return found
