"""Who may do what: every staff page with the least role that opens it, as the house has decided.

A new page is added here by hand; a role that changes by mistake is seen at once.
"""

import pytest

from portal.shop.roles import Role
from tests.cast import COUNTER, FLOOR, sign_in
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
door.end_others
door.held
door.me
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
books.act_on_firm
books.cancel_firm_invoice
books.firm
books.firm_data
books.firm_invoice
books.firm_paper
books.firm_pdf
books.firm_prices
books.firm_xml
books.firms
books.month
books.new_firm
books.owed
books.remind_firm
books.reverse_firm_payment
books.all_invoices
books.all_takings
books.closings_table
books.payments_table
books.sales_table
counter.correct_receipt
books.document
books.doing
books.editions
books.everything
books.late
books.letter
books.letters
books.new_powder
books.out_of_order
books.people
books.person
books.policy
books.powder
books.powders
books.station_hours
books.table
books.take_away
books.translations
books.what_if
books.words
counter.back_on_shelf
counter.end_unfetched
counter.erase_question
counter.heat_leave
counter.lost
counter.override_check
    """,
}


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
