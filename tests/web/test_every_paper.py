"""Every sheet of paper, on A4 and US Letter: whole, in black, and no page with a few lost lines."""

import ctypes
from datetime import timedelta

import pypdfium2 as pdfium
import pytest

from portal.orders.counter import bags, hand_back, receipts
from portal.orders.production import strip_runs
from portal.shop.route import PartStage
from tests.cast import sign_in
from tests.databases import scene
from tests.factories import PAINTED, a_job_at, accept
from tests.orders.test_issuing import FIRM, give_back, papers, pay
from tests.web import paper

FEWEST = 3  # lines on a last page: fewer would be orphans
EDGE_MM = 5
EQUIPPED = {
    **PAINTED,
    "count": 12,
    "fitted": ["tyre", "weights", "valve", "sensor", "centre_cap"],
    "removers": dict.fromkeys(["tyre", "weights", "valve", "sensor", "centre_cap"], "you"),
}
PAPERS = ("slip", "tags", "inspection", "refit", "manifest", "invoice")


@pytest.fixture
def addresses(app):
    return dict(long_papers(app.extensions["unit"]))


@scene
def long_papers(unit):
    """Return the addresses of long paper of every kind, of parts that went to the stripper too."""
    job = a_job_at(unit, PartStage.STRIP, EQUIPPED, PAINTED, first_tag=201)
    bags.add_bag(unit, job.job_id, "12 sensors, 12 centre caps", who=None)
    today = unit.now().date()
    run = strip_runs.open_run(unit, today, today + timedelta(days=2), who=None)
    for tag in range(201, 217):
        strip_runs.gather(unit, run, str(tag), who=None)
    own = {one: f"/J/{job.token}/{one}.pdf" for one in PAPERS}
    ready = a_ready_job(unit, {**EQUIPPED, "count": 4}, PAINTED, first_tag=231)
    measured = a_job_at(unit, PartStage.INSPECT, EQUIPPED, first_tag=261)
    accept(unit, measured.part_ids[0])  # and boxes for the rest
    made = own | {
        "inspection": f"/J/{measured.token}/inspection.pdf",
        "manifest": f"/counter/strip-runs/{run}/manifest.pdf",
        "refit": f"/J/{ready.token}/refit.pdf",
        "invoice": an_open_invoice(unit),
    }
    return tuple(made.items())


def an_open_invoice(unit) -> str:
    """A firm's invoice over many lines, with a payment in advance and everything still to pay."""
    job = a_ready_job(unit, {**EQUIPPED, "count": 4}, PAINTED, first_tag=301)
    pay(unit, job, 6000)
    receipts.make_out_to(unit, job.job_id, FIRM, who=None)
    give_back(unit, job, paid_minor=0, how=None, owing_because="later", parts=range(1, 9))
    return f"/J/{job.token}/receipts/{papers(unit, job)[-1][0].number}/pdf"


def a_ready_job(unit, *sets, **told):
    """A job whose guide can be read."""
    job = a_job_at(unit, PartStage.DONE, *sets, **told)
    hand_back.make_ready(unit, job.job_id, who=None)
    return job


def inks(pdf: bytes) -> set[tuple[int, ...]]:
    """The colour of every piece of text."""
    found = set()
    with pdfium.PdfDocument(pdf) as document:
        for page in document:
            for one in page.get_objects(filter=[pdfium.raw.FPDF_PAGEOBJ_TEXT]):
                parts = [ctypes.c_uint() for _ in range(4)]
                pdfium.raw.FPDFPageObj_GetFillColor(one, *parts)
                found.add(tuple(part.value for part in parts))
    return found


def lines(pdf: bytes) -> list[list[str]]:
    """The lines of text of every page."""
    with pdfium.PdfDocument(pdf) as document:
        texts = [page.get_textpage().get_text_range() for page in document]
    return [[line for line in text.splitlines() if line.strip()] for text in texts]


@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize("name", PAPERS)
def test_paper_is_whole_black_and_without_orphans(app, client, addresses, name, size):
    reader = sign_in(app, client) if name == "manifest" else client
    reader.set_cookie("lang", "de")  # its words are the longest
    answer = reader.get(f"{addresses[name]}?size={size}")
    assert answer.mimetype == "application/pdf"
    height = {"a4": 297, "letter": 279.4}[size]
    assert {round(one[1], 1) for one in paper.sizes_mm(answer.data)} == {height}
    for shot in paper.pages(answer.data, dpi=50):
        edge = round(EDGE_MM * 50 / 25.4)
        for strip in (shot[:edge], shot[-edge:], shot[:, :edge], shot[:, -edge:]):
            assert strip.min() == 255
    # the wheel as ordered is the only thing that may have a colour
    assert inks(answer.data) == {(0, 0, 0, 255)}
    told = lines(answer.data)
    assert len(told[-1]) >= FEWEST, told[-1]
    if name == "tags":
        everywhere = [
            code.text for shot in paper.pages(answer.data) for code in paper.read_all(shot)
        ]
        # sixteen parts and a bag
        assert len(everywhere) == len(set(everywhere)) == 17
    if name in ("inspection", "manifest"):
        assert told[-1][-1].replace(" ", "") == f"{len(told)}/{len(told)}"


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_the_guide_of_four_complete_wheels_is_one_page_in_every_language(app, client, size) -> None:
    ours = {**EQUIPPED, "count": 4, "removers": dict.fromkeys(EQUIPPED["fitted"], "us")}
    job = a_ready_job(app.extensions["unit"], ours, bringing="complete")
    for language in ("en", "de", "es"):
        client.set_cookie("lang", language)
        pdf = client.get(f"/J/{job.token}/refit.pdf?size={size}").data
        assert len(paper.sizes_mm(pdf)) == 1, language


def test_the_manifest_tells_the_bath_what_it_gets_and_nobody_who_sent_it(app, client, addresses):
    text = paper.text_of(sign_in(app, client).get(addresses["manifest"]).data)
    assert text.count("Cast aluminium") == text.count("Original paint") == 16
    assert text.count("Never: Burn-off oven, Caustic (strong alkali)") == 16
    assert "216" in text
    assert "Robin" not in text


def test_the_page_of_the_guide_is_what_is_printed(client, addresses) -> None:
    html = client.get(addresses["refit"].removesuffix(".pdf")).get_data(as_text=True)
    printed = paper.text_of(client.get(addresses["refit"]).data)
    for title in ("Check before you fit", "Tighten in a cross pattern", "Washing"):
        assert title in html
        assert title in printed
    assert "If the vehicle's handbook says something else," in printed
    # no torque figure is ever printed
    assert "Nm" not in printed
