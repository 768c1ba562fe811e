"""Who may do what: every staff page with the least role that opens it, as the house has decided.

A new page is added here by hand; a role that changes by mistake is seen at once.
"""

import pytest
import sqlalchemy as sa
from werkzeug.routing import AnyConverter, IntegerConverter

from portal.shop.roles import Role
from portal.shop.verbs import AuditVerb
from portal.store.tables import Audit, Base
from tests.cast import COUNTER, FLOOR, OFFICE, sign_in
from tests.conftest import an_app
from tests.factories import a_job_in_work
from tests.page import checked_client

PAGES = {
    Role.FLOOR: """
counter.check
counter.close_load
counter.close_run
counter.floor
counter.front
counter.gather
counter.heat
counter.finished_photo
counter.inspect
counter.inspect_set
counter.job
counter.manifest
counter.manifest_pdf
counter.move
counter.note
counter.note_off
counter.oven
counter.rework
counter.run
counter.runs
counter.scan
counter.scans
counter.shelf_labels
counter.send_run
counter.start_load
counter.station_labels
counter.take_out
counter.undo
door.devices
door.held
door.me
door.recovery_codes
door.second_factor
door.second_factor_off
pieces.pieces
    """,
    Role.COUNTER: """
counter.add_bag
counter.add_tags
counter.answer
counter.lose_bag
counter.found_bag
counter.arriving
counter.as_declared
counter.called
counter.check_in
counter.colour
counter.corners
counter.differs
counter.drop_bag
counter.end
counter.find
counter.found
counter.hand_back
counter.hang
counter.look_again
counter.not_brought
counter.pay
counter.photo
counter.question
counter.questions
counter.thread
counter.ready
counter.receipt
counter.receipt_pdf
counter.receipt_xml
counter.receipts
counter.issue_receipt
counter.till
counter.closing
counter.receive
counter.reverse
counter.retire_tag
counter.shelf
counter.new_order
counter.new_order_price
counter.taken_in
counter.appointment
counter.stamps
counter.start
counter.tag_off
counter.tags
counter.take_back
counter.today
counter.undo_hand_back
    """,
    Role.OFFICE: """
counter.reduce
counter.refund
office.act_on_firm
office.cancel_firm_invoice
office.firm
office.firm_data
office.firm_invoice
office.firm_paper
office.firm_pdf
office.firm_prices
office.firm_xml
office.firms
office.month
office.open_bookings
office.new_firm
office.owed
office.remind_firm
office.reverse_firm_payment
office.all_invoices
office.all_takings
office.closings_table
office.payments_table
office.sales_table
counter.correct_receipt
office.document
office.doing
office.editions
office.everything
office.late
office.letter
office.letters
office.new_powder
office.out_of_order
office.people
office.person
office.policy
office.powder
office.powders
office.station_hours
office.table
office.take_away
office.translations
office.what_if
office.words
counter.back_on_shelf
counter.end_unfetched
counter.erase_question
counter.heat_leave
counter.lost
counter.override_check
    """,
}

# who needs no role: anybody, who has a link, a firm in its own browser, who signs in or out
OTHERS = {
    "anybody": """
house.alive house.choose_language house.choose_units house.favicon house.old_office
house.ready house.robots metrics.metrics static_file
intake.begin intake.figures intake.landing intake.picture intake.privacy intake.terms
intake.why_powder
counter.offline counter.offline_worker
status.lost_link status.worker
trade.ask trade.open_page
    """,
    "a link": """
intake.ask intake.asked intake.comes_off intake.day intake.finish intake.from_page intake.later
intake.on_them intake.one_set intake.parts intake.price intake.read_back intake.remove_set
intake.resume intake.you
photos.show
slip.drop_off slip.guide_pdf slip.sheet_pdf slip.show_guide slip.show_sheet slip.show_slip
slip.show_tags slip.show_tyre_shop slip.slip_pdf slip.tags_pdf slip.tyre_shop_day
slip.tyre_shop_pdf
status.again status.answer status.ask status.call_off status.cannot status.code status.contact
status.fetch status.finish status.language status.make_out_to status.messages status.move
status.news
status.one_kind status.pay status.show_big status.show_picture
status.pickup_time status.prepare status.price status.receipt status.receipt_pdf
status.receipt_xml status.receipts status.record status.record_handed_on status.record_link
status.show status.wrong
trade.use_link
    """,
    "a firm": """
trade.add_rows trade.booked trade.change_list trade.drop_list trade.front trade.invoice
trade.invoices trade.job trade.jobs trade.new_list trade.one_invoice_pdf trade.one_invoice_xml
trade.one_list trade.prices trade.sign_out trade.slips trade.slips_pdf trade.template
    """,
    "the door": "door.code door.lock door.locked door.sign_in door.sign_out",
}
NO_TOKEN = "A" * 26
VISITORS = {"nobody": None, "floor": FLOOR, "counter": COUNTER, "office": OFFICE}
ROLE_OF = {"floor": Role.FLOOR, "counter": Role.COUNTER, "office": Role.OFFICE}


def rows() -> dict[str, Role | str]:
    """Return every row of the table: the endpoint, and who may open it."""
    table: dict[Role | str, str] = {**PAGES, **OTHERS}
    return {endpoint: who for who, listed in table.items() for endpoint in listed.split()}


def address_of(rule) -> str:
    """Return an address of a route whose things are not there."""
    values: dict[str, object] = {}
    for name, converter in rule._converters.items():
        if isinstance(converter, AnyConverter):
            values[name] = next(iter(converter.items))
        else:
            values[name] = 1 if isinstance(converter, IntegerConverter) else NO_TOKEN
    built = rule.build(values)
    assert built is not None
    return built[1]


def without_a_row(app) -> set[str]:
    """The routes that no row names, and the rows that no route has."""
    return {rule.endpoint for rule in app.url_map.iter_rules()} ^ set(rows())


def test_every_route_has_its_row(app) -> None:
    assert without_a_row(app) == set()


def test_a_new_route_without_a_row_is_noticed(settings, clock) -> None:
    with an_app(settings, clock) as portal:
        portal.add_url_rule("/counter/new", "counter.new", lambda: "")
        assert without_a_row(portal) == {"counter.new"}


@pytest.mark.parametrize("visitor", VISITORS)
def test_each_visitor_opens_what_the_table_says(app, visitor: str) -> None:
    table, wrong = rows(), []
    client = app.test_client()
    if VISITORS[visitor] is not None:
        client = sign_in(app, checked_client(app), VISITORS[visitor])
    for rule in app.url_map.iter_rules():
        if "GET" not in (rule.methods or ()):
            continue
        path = address_of(rule)
        answer = client.get(path, buffered=True)
        if not _as_told(table[rule.endpoint], visitor, answer):
            wrong.append((rule.endpoint, answer.status_code, answer.location))
    assert wrong == []


def _as_told(who: Role | str, visitor: str, answer) -> bool:
    """Whether the answer is what this visitor may see of a route."""
    refused = answer.status_code in (401, 403) or "/sign-in" in (answer.location or "")
    if isinstance(who, Role):
        may = visitor != "nobody" and ROLE_OF[visitor].covers(who)
        return answer.status_code < 500 and refused is not may
    if who == "a link":
        return answer.status_code == 404
    if who == "a firm":
        return answer.status_code in (303, 401, 403)
    return answer.status_code < 500


# what may grow when a page is asked for: who is signed in, a form that is held for its sender,
# and in the log who was refused it
OF_VISITS = ("staff_session", "held_form", "sign_in_try", "heartbeat")


def counted(unit) -> dict[str, int]:
    tables = [one for one in Base.metadata.sorted_tables if one.name not in OF_VISITS]
    with unit.read() as session:
        found = {
            one.name: session.scalar(sa.select(sa.func.count()).select_from(one)) or 0
            for one in tables
        }
        refused = sa.select(sa.func.count()).where(Audit.verb == AuditVerb.NOT_ALLOWED)
        return found | {"audit": found["audit"] - (session.scalar(refused) or 0)}


@pytest.mark.parametrize("visitor", VISITORS)
def test_nobody_changes_anything_without_a_token(app, unit, visitor: str) -> None:
    client = app.test_client()
    if VISITORS[visitor] is not None:
        client = sign_in(app, checked_client(app), VISITORS[visitor])
    before = counted(unit)
    for rule in app.url_map.iter_rules():
        if "POST" in (rule.methods or ()) and rule.endpoint != "door.sign_out":
            assert client.post(address_of(rule), buffered=True).status_code < 500, rule.endpoint
    assert counted(unit) == before


def test_every_staff_page_needs_the_role_that_the_house_decided(app) -> None:
    needs = {
        endpoint: view.needs
        for endpoint, view in app.view_functions.items()
        if hasattr(view, "needs")
    }
    assert needs == {page: role for role, pages in PAGES.items() for page in pages.split()}


@pytest.mark.parametrize("role", Role)
def test_a_role_covers_itself_and_those_before_it(role) -> None:
    order = [Role.FLOOR, Role.COUNTER, Role.OFFICE]
    assert [role.covers(one) for one in order] == [
        one in order[: order.index(role) + 1] for one in order
    ]


def test_a_floor_hand_takes_no_payment(app, unit) -> None:
    job = a_job_in_work(unit)
    way = f"/counter/job/{job.code}/pay"
    floor = sign_in(app, checked_client(app), FLOOR)
    assert floor.get(way).status_code == 403
    assert floor.post(way, data={"amount": "1.00", "how": "card"}).status_code == 403
    assert sign_in(app, checked_client(app), COUNTER).get(way).status_code == 200
