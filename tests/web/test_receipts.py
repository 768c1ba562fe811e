"""Receipts and invoices on pages and paper: behind the link, at the counter, in the office."""

import io

import pytest
from facturx import get_facturx_xml_from_pdf
from pypdf import PdfReader

from portal.orders.counter import hand_back, receipts
from portal.orders.office import documents
from portal.shop.route import PartStage
from tests.cast import OFFICE, sign_in
from tests.factories import a_booked_job, a_job_at
from tests.orders.test_issuing import FIRM, give_back, papers, pay
from tests.page import checked_client, page_of, words
from tests.shop.invoicing.norm_rules import broken_rules
from tests.shop.test_currencies import whole
from tests.web import paper
from tests.web.hand import Hand


@pytest.fixture
def office(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), OFFICE))


@pytest.fixture
def ready(unit):
    job = a_job_at(unit, PartStage.DONE)
    hand_back.make_ready(unit, job.job_id, who=None)
    return job


@pytest.fixture
def firm(unit, ready):
    """A job that was handed back to a firm, which has not paid yet."""
    pay(unit, ready, 6000)
    receipts.make_out_to(unit, ready.job_id, FIRM, who=None)
    give_back(unit, ready, paid_minor=0, how=None, owing_because="pays by transfer")
    return ready


def number_of(unit, job, n: int = -1) -> str:
    return papers(unit, job)[n][0].number


def test_the_customer_finds_the_receipt_behind_the_link(client, unit, ready) -> None:
    give_back(unit, ready)
    listed = client.get(f"/J/{ready.token}/receipts")
    number = number_of(unit, ready)
    assert number in listed.text
    shown = client.get(f"/J/{ready.token}/receipts/{number}")
    assert words(page_of(shown).one("h1")) == "Receipt"
    assert "VAT number GB999999973" in words(page_of(shown).one("main"))
    pdf = client.get(f"/J/{ready.token}/receipts/{number}/pdf").data
    text = paper.text_of(pdf)
    assert number in text
    assert "VAT 20 %" in text
    assert "Paid in full" in text


def test_somebody_elses_link_opens_no_document(client, unit, ready) -> None:
    give_back(unit, ready)
    other = a_booked_job(unit)
    number = number_of(unit, ready)
    assert client.get(f"/J/{other.token}/receipts/{number}").status_code == 404


def test_the_status_page_leads_to_the_receipts(client, unit, ready) -> None:
    give_back(unit, ready)
    page = client.get(f"/J/{ready.token}").text
    assert f"/J/{ready.token}/receipts" in page


def test_a_customer_asks_for_an_invoice_before_the_pickup_and_not_after(client, unit, ready):
    address = f"/J/{ready.token}/receipts"
    typed = {"name": "Halden Garage", "street": "1 Mill Road", "city": "Halden", "country": "GB"}
    wrong = client.submit(client.get(address), **{**typed, "street": ""})
    assert wrong.status_code == 422
    assert "Enter the street and number." in wrong.text
    assert "Halden Garage" in wrong.text
    done = client.submit(client.get(address), **typed)
    assert done.status_code == 303
    give_back(unit, ready)
    assert "Made out to Halden Garage" in client.get(address).text
    assert papers(unit, ready)[-1][0].kind == "invoice"


def test_a_firms_invoice_is_pdf_a_3_with_the_structured_invoice_inside(client, unit, firm) -> None:
    address = f"/J/{firm.token}/receipts/{number_of(unit, firm)}"
    pdf = client.get(f"{address}/pdf").data
    name, xml = get_facturx_xml_from_pdf(pdf, check_xsd=True)
    assert name == "factur-x.xml"
    assert broken_rules(xml) == []
    assert client.get(f"{address}/xml").data == xml
    reader = PdfReader(io.BytesIO(pdf))
    about = reader.xmp_metadata.stream.get_data().decode()
    assert about.count("<rdf:RDF") == 1
    assert 'pdfaid:part="3"' in about
    assert 'pdfaid:conformance="A"' in about
    assert "<fx:ConformanceLevel>EN 16931</fx:ConformanceLevel>" in about
    (intent,) = reader.trailer["/Root"]["/OutputIntents"]
    assert intent.get_object()["/S"] == "/GTS_PDFA1"
    (file,) = reader.trailer["/Root"]["/AF"]
    assert file.get_object()["/AFRelationship"] == "/Alternative"
    text = paper.text_of(pdf)
    for one in ("Halden", "1 Mill Road", "Please pay", "D2026-0001", "Without VAT"):
        assert one in text


def test_an_invoice_in_euro_carries_the_code_for_the_transfer(client, unit, ready) -> None:
    euro(unit)
    give_back(unit, ready, paid_minor=0, how=None, owing_because="pays by transfer")
    # the job was booked in pounds: its invoice stays in pounds, and has no such code
    number = number_of(unit, ready)
    assert "bank's app" not in client.get(f"/J/{ready.token}/receipts/{number}").text
    job = a_booked_job(unit)
    pay_later(unit, job)
    number = number_of(unit, job)
    page = client.get(f"/J/{job.token}/receipts/{number}/pdf").data
    found = [code.text for one in paper.pages(page) for code in paper.read_all(one)]
    assert [code.split("\n")[0] for code in found] == ["BCD"]
    assert found[0].split("\n")[6:8] == ["DE02120300000000202051", f"EUR{due(unit, job)}"]


def euro(unit) -> None:
    seen = documents.document(unit, "prices")
    change(unit, "prices", {**seen.body, "currency": "EUR"})
    seen = documents.document(unit, "invoicing")
    change(unit, "invoicing", {**seen.body, "bank": {"iban": "DE02120300000000202051"}})


def change(unit, kind, body) -> None:
    expected = documents.newest(unit, kind)
    documents.put_document(unit, kind, body, expected_edition_id=expected, who=None)


def pay_later(unit, job) -> None:
    """Invoice a job that is not paid, as when it is handed back on account."""
    from portal.orders.kernel.issuing import issue_final
    from portal.store.tables import Job

    unit.write(
        lambda session: issue_final(unit, session, [session.get(Job, job.job_id)], who=None).id
    )


def due(unit, job) -> str:
    document = papers(unit, job)[-1][1]
    return f"{document.money(document.due).major:.2f}"


def test_a_second_print_is_marked_as_a_copy(office, unit, firm) -> None:
    number = number_of(unit, firm)
    address = f"/counter/job/{firm.code}/receipts/{number}/pdf"
    assert "Copy" not in paper.text_of(office.client.get(address).data)
    assert "Copy" in paper.text_of(office.client.get(f"{address}?copy=1").data)


def test_the_office_puts_an_invoice_right_with_a_reason(office, unit, firm) -> None:
    first = number_of(unit, firm)
    office.go(f"/counter/job/{firm.code}/receipts/correct")
    office.send("/correct", reason="")
    assert office.wrong("reason") == "Error: Enter the reason. It stands on the credit note."
    office.send("/correct", name="Halden Garage Ltd", reason="the whole name")
    (_, credit), (_, second) = papers(unit, firm)[-2:]
    assert office.told == [f"Issued anew: {second.number}."]
    assert credit.refers_to == first
    cancelled = office.go(f"/counter/job/{firm.code}/receipts/{first}")
    assert f"Taken back by credit note {credit.number}." in cancelled.text
    assert "the whole name" in office.go(f"/counter/job/{firm.code}/receipts/{credit.number}").text


def test_the_office_finds_documents_by_number_name_and_job(office, unit, firm) -> None:
    number = number_of(unit, firm)
    for typed in (number, firm.code):
        assert number in office.go(f"/office/invoices?q={typed}").text
    assert number not in office.go("/office/invoices?q=nobody").text


def test_the_till_is_counted_and_closed_on_its_page(hand, unit) -> None:
    job = a_booked_job(unit)
    pay(unit, job, 6000, "cash")
    hand.go("/counter/till")
    hand.send("/till", opening="100", counted="150.00")
    assert hand.wrong("reason").startswith("Error: There must be £160 in the till.")
    hand.send("/till", opening="100", counted="160.00", banked="60")
    assert hand.told == ["The till is closed: number 1."]
    assert hand.heading == "Till closing 1"
    assert "Left in it last time" in hand.go("/counter/till").text


def test_a_till_in_yen_takes_whole_sums_alone(hand, unit) -> None:
    body = documents.document(unit, "prices").body
    change(unit, "prices", {**whole(body), "currency": "JPY"})
    hand.go("/counter/till")
    hand.send("/till", opening="12000.50", counted="12000")
    assert "Enter a whole sum: JPY has no decimals." in hand.wrong("opening")
    hand.send("/till", opening="12000", counted="12000", banked="2000")
    assert hand.heading == "Till closing 1"
    assert "¥12,000" in hand.page.text
    assert "12,000.00" not in hand.page.text
    assert "¥10,000" in hand.go("/counter/till").text


SECRETS = ("token", "/J/", "pickup")


def test_the_bookkeepers_tables_have_sums_and_no_keys(office, unit, firm) -> None:
    sales = office.client.get("/office/takings/sales.csv").data.decode("utf-8-sig")
    head, *rows = sales.strip().splitlines()
    assert head.startswith("Document,Date,Job,Name,Kind,Rate in %,Net,Tax,Gross")
    assert rows[0].startswith("D2026-0001,")
    assert ",50.00,10.00,60.00,GBP,Card," in rows[0]
    # the invoice, and beneath it what was paid in advance, taken off
    assert ",-50.00,-10.00,-60.00,GBP," in rows[-1]
    paid = office.client.get("/office/takings/payments.csv").data.decode("utf-8-sig")
    assert ",60.00,GBP," in paid
    for text in (sales, paid):
        assert firm.token not in text
        assert firm.pickup_code not in text
        assert not [one for one in SECRETS if one in text]


def test_the_sheet_opens_where_nothing_was_entered_yet(office, unit) -> None:
    page = office.go("/office/invoicing")
    assert words(page_of(page).one("h1")) == "What stands on invoices"
    office.send("/invoicing", **{"b.seller.vat_number": "GB123"})
    assert "This is no VAT number. Check its digits." in office.at.text
    office.send("/invoicing", **{"b.seller.vat_number": "GB 999 9999 73"})
    assert office.told[0].startswith("Saved")
