"""The oven, read off its page: loads as proposed, wrong ones, and the maker's permission."""

import re
from typing import Any

from tests.cast import OFFICE
from tests.customers.counter import Desk
from tests.customers.forms import Form, forms_of
from tests.customers.watch import Fell, must

MOST_LOADS = 60
ADDRESS = "/counter/oven"
FORGOT = 25  # minutes too late at the oven


def cure(desk: Desk, stage: str) -> None:
    """Start the loads that the page proposes, wait, and close them."""
    del stage
    plan = desk.order.plan
    planned: dict[str, int] = {}
    desk.get(ADDRESS)
    must(_starts(desk), "coated parts wait, and the oven proposes no load")
    for _ in range(MOST_LOADS):
        if not _starts(desk):
            break
        _leaves(desk)
        start = _starts(desk)[0]
        minutes = int(start.fields["minutes"].value)
        if plan.likely(0.1):
            _far_too_much(desk, start)
            start = _starts(desk)[0]
        if plan.likely(0.1) and _a_little_longer(desk, start, minutes + 1):
            minutes += 1
        else:
            desk.get(ADDRESS)
            desk.person.send(_starts(desk)[0])
            must(desk.person.at.status == 200, f"the proposed load is refused: {desk.says}")
        planned[_load(" ".join(desk.says), r"Load (\d+) started")] = minutes
    desk.order.house.clock.advance(minutes=max(planned.values()) + 1)
    forgot = plan.likely(0.1)
    if forgot:
        desk.order.house.clock.advance(minutes=FORGOT)
        plan.note("oven", "forgotten")
    desk.get(ADDRESS)
    while form := desk.form("/close"):
        minutes = planned[_load(form.action, r"/oven/(\d+)/close")]
        asked = "baked_min" in form.fields
        must(asked or not forgot, "a load that was forgotten isn't asked when it came out")
        desk.person.send(form, {"baked_min": str(minutes)} if asked else {})


def _starts(desk: Desk) -> list[Form]:
    return [form for form in forms_of(desk.page) if form.action.endswith("/oven/start")]


def _far_too_much(desk: Desk, start: Form) -> None:
    """No powder and no wheel bears this: it must be refused, and nothing may start."""
    desk.person.send(start, {"minutes": "180", "set_point_c": "230"})
    must(desk.person.at.status == 422, "230 °C for 180 minutes is taken")
    must(not _yes(_starts(desk)), "230 °C for 180 minutes is offered for a yes")
    desk.order.plan.note("oven", "refused")
    desk.get(ADDRESS)


def _a_little_longer(desk: Desk, start: Form, minutes: int) -> bool:
    """Bake longer than planned: each part needs its yes. Tell whether that was possible."""
    desk.person.send(start, {"minutes": str(minutes)})
    must(desk.person.at.status == 422, "a longer load started without a yes")
    asked = [form for form in _starts(desk) if _yes([form])]
    if not asked:
        return False  # too much for a part: the next coat would not hold, or too much heat
    desk.person.send(asked[0], {"minutes": str(minutes), "yes": _yes(asked)})
    must(desk.person.at.status == 200, f"agreed to, and refused all the same: {desk.says}")
    desk.order.plan.note("oven", "longer, agreed")
    return True


def _yes(forms: list[Form]) -> list[str]:
    return [value for form in forms if "yes" in form.fields for value in form.fields["yes"].values]


def _leaves(desk: Desk) -> None:
    """Where the page says that a load is too much heat, the office asks the maker."""
    worn = [
        link.get("href") or ""
        for row in desk.page.all("tr", data_state="wrong")
        for link in row.iter("a")
    ]
    if not worn:
        return
    office = Desk(desk.order, OFFICE)
    for address in worn:
        office.get(address)
        told: dict[str, Any] = {"up_to": "200", "maker": "Letter of 3 March", "why": "Rework"}
        office.press("/leave", told)
        must(office.person.at.status == 200, f"the leave is refused: {office.says}")
    desk.order.plan.note("oven", "maker's permission")
    desk.get(ADDRESS)
    if desk.page.all("tr", data_state="wrong"):
        raise Fell("the maker's permission is recorded, and the load is still too much")


def _load(text: str, pattern: str) -> str:
    found = re.search(pattern, text)
    if found is None:
        raise Fell(f"no load is named in: {text}")
    return found[1]
