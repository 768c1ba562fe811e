"""Nobody sees another firm's jobs, lists, papers or invoices: every route of the firms' page."""

import pytest
import sqlalchemy as sa
from werkzeug.routing import Map, Rule

from portal.shop.invoicing.document import InvoiceKind
from portal.store.tables import FirmInvoice, FirmList, Invoice
from tests.cast import COUNTER, OFFICE, sign_in
from tests.factories import a_booked_job
from tests.garage import HEAD, a_garage, fields_of, jobs_of_firm, open_page, paste
from tests.page import Page, checked_client

# what anybody may open: the way in
OPEN = {"trade.ask", "trade.open_page", "trade.use_link"}
# whose answer depends on nothing but the firm itself
OWN = {
    "trade.front",
    "trade.jobs",
    "trade.prices",
    "trade.invoices",
    "trade.new_list",
    "trade.template",
    "trade.sign_out",
}
# by which keys another firm is tried below
KEYS = {"list_id", "code", "number"}
ROW = f"{HEAD}\nSecret order;4;18;cast;original;RAL 9005;satin"


def routes(app) -> list:
    return [rule for rule in app.url_map.iter_rules() if rule.endpoint.startswith("trade.")]


def faults_of(rule, view) -> list[str]:
    """What is wrong with a route: open to others, or not tried with another firm's keys."""
    keys = rule.arguments - {"kind", "token"}
    wrong = {
        "not for firms alone": hasattr(view, "for_firms") is (rule.endpoint in OPEN),
        "for staff": hasattr(view, "needs"),
        "no row": bool(keys) is (rule.endpoint in OWN | OPEN),
        "an unknown key": not keys <= KEYS,
    }
    return [why for why, is_so in wrong.items() if is_so]


def test_every_route_is_for_firms_or_the_way_in(app) -> None:
    for rule in routes(app):
        assert faults_of(rule, app.view_functions[rule.endpoint]) == [], rule.endpoint


@pytest.mark.parametrize(
    ("path", "guarded", "wrong"),
    [
        ("/firm/secrets", True, ["no row"]),
        ("/firm/secrets/<int:secret_id>", True, ["an unknown key"]),
        ("/firm/lists/<int:list_id>/secrets", False, ["not for firms alone"]),
    ],
)
def test_a_new_route_without_a_row_is_noticed(path: str, guarded: bool, wrong) -> None:
    def view() -> None: ...

    if guarded:
        view.__dict__["for_firms"] = True
    (rule,) = Map([Rule(path, endpoint="trade.secrets")]).iter_rules()
    assert faults_of(rule, view) == wrong


@pytest.fixture
def owner(app, unit):
    """A firm with one booked list and one that is not; its keys by the names of the routes."""
    client, firm_id = a_garage(app, unit)
    draft, path = paste(client, ROW), paste(client, ROW)
    data = fields_of(Page(client.get(path).text), path) | {"do": "book", "confirmed": "y"}
    assert client.post(path, data=data).status_code == 303
    (job,) = jobs_of_firm(unit, firm_id)
    number = a_month(unit, firm_id)
    return client, {
        "list_id": [int(one.rsplit("/", 1)[1]) for one in (draft, path)],
        "code": [job.code],
        "number": [number],
    }


def a_month(unit, firm_id: int) -> str:
    """Put down an invoice of the firm's month and return its number."""
    now = unit.now()

    def put(session) -> None:
        row = Invoice(
            number="M-2026-0001",
            series="M-2026",
            count=1,
            kind=InvoiceKind.INVOICE,
            issued_at=now,
            currency="GBP",
            net_minor=100,
            tax_minor=20,
            charged_minor=120,
            body={},
        )
        session.add(row)
        session.flush()
        day = now.date()
        session.add(
            FirmInvoice(invoice_id=row.id, firm_id=firm_id, first_day=day, last_day=day, due_on=day)
        )

    unit.write(put)
    return "M-2026-0001"


def asked(app, client, rule, values: dict):
    """Yield every answer of a route to these keys, read and sent."""
    with app.test_request_context():
        adapter = app.url_map.bind("localhost")
    (name,) = rule.arguments - {"kind"}
    for value in values[name]:
        path = adapter.build(rule.endpoint, {name: value})
        for method in sorted(rule.methods & {"GET", "POST"}):
            token = Page(client.get("/firm/lists/new").text).fields(0)["csrf_token"]
            data = {"csrf_token": token, "text": "4;18;BLACK", "do": "save"}
            yield (
                method,
                path,
                client.open(path, method=method, data=data if method == "POST" else None),
            )


def test_another_firms_keys_open_nothing(app, unit, owner) -> None:
    _, keys = owner
    stranger, _ = a_garage(app, unit, name="Other Garage", email="other@example.com")
    with unit.read() as session:
        before = session.execute(sa.select(FirmList.id, FirmList.version)).all()
    seen = 0
    for rule in routes(app):
        if rule.endpoint in OPEN | OWN:
            continue
        for method, path, answer in asked(app, stranger, rule, keys):
            assert answer.status_code == 404, (method, path)
            assert "Secret order" not in answer.text
            seen += 1
    assert seen > 15
    with unit.read() as session:
        assert session.execute(sa.select(FirmList.id, FirmList.version)).all() == before


def test_nothing_of_others_stands_on_a_firms_pages(app, unit, owner) -> None:
    private = a_booked_job(unit)
    stranger, _ = a_garage(app, unit, name="Other Garage", email="other@example.com")
    for path in (
        "/firm",
        "/firm/jobs",
        "/firm/jobs?all=1",
        "/firm/jobs?q=secret",
        "/firm/invoices",
    ):
        text = stranger.get(path).text
        assert "Secret order" not in text
        assert private.code not in text.replace("-", "")
    assert stranger.get(f"/firm/jobs/{private.code}").status_code == 404


@pytest.mark.parametrize("who", [COUNTER, OFFICE])
def test_staff_have_no_way_in(app, unit, owner, who) -> None:
    _, keys = owner
    staff = sign_in(app, checked_client(app), who)
    for path in ("/firm", "/firm/jobs", f"/firm/lists/{keys['list_id'][0]}"):
        assert staff.get(path).location == "/firm/link"


def test_a_firm_has_no_way_to_staff_pages(app, unit, owner) -> None:
    client, _ = owner
    for path in ("/counter/", "/counter/today", "/office/", "/counter/find?q=a"):
        assert "/counter/sign-in" in client.get(path).location


def test_nobody_without_a_link_opens_anything(app, owner) -> None:
    _, keys = owner
    client = checked_client(app)
    for rule in routes(app):
        if rule.endpoint in OPEN:
            continue
        adapter = app.url_map.bind("localhost")
        told = {name: ("xlsx" if name == "kind" else keys[name][0]) for name in rule.arguments}
        path = adapter.build(rule.endpoint, told)
        if "GET" in rule.methods:
            assert client.get(path).location == "/firm/link", path


def test_the_same_browser_of_another_firm_sees_its_own_alone(app, unit, owner) -> None:
    client, keys = owner
    _other, other_id = a_garage(app, unit, name="Other Garage", email="other@example.com")
    again = open_page(app, unit, other_id)
    assert again.get(f"/firm/lists/{keys['list_id'][0]}").status_code == 404
    assert client.get(f"/firm/lists/{keys['list_id'][0]}").status_code == 200
