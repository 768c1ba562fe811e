"""What a customer does by the link before the parts are brought: another drop-off time."""

import sqlalchemy as sa

from portal.orders.office import documents
from portal.orders.office.closures import put_week
from portal.store.tables import Job
from tests.customers import booked
from tests.customers.booked import Order
from tests.customers.forms import forms_of
from tests.customers.watch import must
from tests.page import words


def move(order: Order) -> None:
    """Choose another drop-off time; the promise beside it is the one that is told from then on."""
    person = order.customer
    person.get(f"{order.path}/time")
    form = next((f for f in forms_of(person.page) if f.action.endswith("/time")), None)
    if form is None or not form.fields["slot"].values:
        return
    chosen = order.plan.rng.choice(form.fields["slot"].values)
    label = next(
        one
        for one in person.page.all("label")
        if any(e.get("value") == chosen for e in one.iter("input"))
    )
    days = order.days(words(label))
    person.send(form, {"slot": chosen})
    must(person.path == order.path, f"after the move the page is {person.path}")
    order.told.again("promised day", "last day")
    # the day of the drop-off stands before it
    order.told.promise(days[1:] or days, "the chosen time")
    order.plan.note("habit", "moved the drop-off")
    booked.status(order)
    booked.slip(order)
    fresh = [one.kind for one in booked.letters(order)]
    must("moved" in fresh, f"no letter tells of the move: {fresh}")


def closed_day(order: Order) -> None:
    """The works shuts on the day of the drop-off: a letter asks for another, and one is chosen."""
    unit, person = order.house.unit, order.customer
    with unit.read() as session:
        query = sa.select(Job.dropoff_at).where(Job.token == order.token)
        before = session.scalars(query).one()
        day = str(unit.shop(session).day(before))
    body = dict(documents.document(unit, "week").body)
    body["closures"] = [*body.get("closures", []), {"from": day, "to": day}]
    put_week(unit, body, expected_edition_id=documents.newest(unit, "week"), who=None)
    fresh = [one.kind for one in booked.letters(order)]
    must("closed" in fresh, f"no letter tells of the closed day: {fresh}")
    page = person.get(order.path).page
    ways = [a.get("href") for a in page.one(class_="ask").iter("a")]
    must(f"{order.path}/time" in ways, "the page leads to no other time")
    order.plan.note("habit", "stood before a closed day")
    move(order)
    with unit.read() as session:
        after = session.scalars(query).one()
    must(after.date() != before.date(), "the drop-off is still on the closed day")
