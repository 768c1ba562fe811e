"""A customer's name in any script: from the form to the slip, the PDF, the counter, the letter."""

import ctypes
import subprocess
import unicodedata
from collections import Counter

import pypdfium2 as pdfium
import pytest
import sqlalchemy as sa

from portal.store.tables import Job, Letter
from tests.cast import sign_in
from tests.factories import a_booked_job
from tests.page import page_of
from tests.web import paper
from tests.web.walk import CONTACT, Customer

NAMES = {
    "Greek": "Ελένη Παράδειγμα",
    "Cyrillic": "Борис Примеров",
    "Arabic": "ليلى مثال",
    "Hebrew": "דנה דוגמה",
    "Japanese": "見本 太郎",
    "Korean": "표본 하나",
    "Vietnamese": "Nguyễn Thị Mẫu",
    "Devanagari": "उदाहरण राम",
    "with an okina": "Kaʻimi Sampleʻs",
    "with marks": "D’Or–Sample, Jr. (No. 2)",
}


def fonts_of(pdf: bytes, letters: set[str]) -> dict[str, str]:
    """The font in which each of `letters` is drawn, by letter."""
    found = {}
    with pdfium.PdfDocument(pdf) as document:
        page = document[0]
        texts = page.get_textpage()
        for one in page.get_objects(filter=[pdfium.raw.FPDF_PAGEOBJ_TEXT]):
            size = pdfium.raw.FPDFTextObj_GetText(one, texts, None, 0)
            held = ctypes.create_string_buffer(size)
            pdfium.raw.FPDFTextObj_GetText(
                one, texts, ctypes.cast(held, ctypes.POINTER(ctypes.c_ushort)), size
            )
            name = ctypes.create_string_buffer(200)
            pdfium.raw.FPDFFont_GetBaseFontName(pdfium.raw.FPDFTextObj_GetFont(one), name, 200)
            for letter in letters & set(held.raw.decode("utf-16-le")):
                found[letter] = name.value.decode()
    return found


def has_it(font: str, letter: str) -> bool:
    """Whether the font behind a name like `ABCDEF+Noto-Sans-Bold` has a glyph for `letter`."""
    told = subprocess.run(
        ["fc-list", f":charset={ord(letter):x}", "family", "style"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    bare = font.partition("+")[2].replace("-", " ").removesuffix(" Bold")
    return any(bare in line for line in told.splitlines())


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_a_name_goes_from_the_form_to_slip_counter_and_letter(app, client, name):
    customer = Customer(client).walk_to("you")
    customer.send(**CONTACT | {"name": name})
    assert customer.step == "read-back", customer.page.text
    assert name in customer.page.text
    customer.book()
    with app.extensions["unit"].read() as session:
        job = session.scalars(sa.select(Job)).one()
        letter = session.scalars(sa.select(Letter)).first()
    assert job.customer.name == name
    assert name in letter.text
    assert name in page_of(client.get(f"/J/{job.token}/slip")).text
    desk = sign_in(app, app.test_client())
    assert name in page_of(desk.get(f"/counter/job/{job.code}/check-in")).text


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_the_pdf_bears_the_name_in_a_font_that_has_it(client, unit, name):
    job = a_booked_job(unit, name=name)
    pdf = client.get(f"/J/{job.token}/slip.pdf").data
    letters = {one for one in name if unicodedata.category(one)[0] == "L" and not one.isascii()}
    # a script from right to left is read out of a PDF in another order
    text = Counter(unicodedata.normalize("NFC", paper.text_of(pdf)))
    assert not Counter(one for one in name if one in letters) - text
    fonts = fonts_of(pdf, letters)
    assert set(fonts) == letters
    assert not {one: font for one, font in fonts.items() if not has_it(font, one)}
    assert len(paper.sizes_mm(pdf)) == 1


def test_a_letter_that_no_font_has_would_be_seen():
    assert has_it("ABCDEF+Noto-Sans-Hebrew-Bold", "ד")
    assert not has_it("ABCDEF+Docket-Bold", "ד")
    assert not has_it("ABCDEF+Liberation-Sans-Bold", "見")


def test_a_letter_that_no_font_has_is_no_reason_to_refuse(app, client):
    name = "Sample \N{SYRIAC LETTER ALAPH}\N{OGHAM LETTER BEITH}"
    customer = Customer(client).walk_to("you")
    customer.send(**CONTACT | {"name": name})
    assert customer.step == "read-back"
    customer.book()
    with app.extensions["unit"].read() as session:
        token = session.scalars(sa.select(Job.token)).one()
    assert client.get(f"/J/{token}/slip.pdf").status_code == 200


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("  Robin \t  Sample ", "Robin Sample"),
        ("Zoe\u0308 Sample", "Zoë Sample"),  # two signs become the one letter (NFC)
        ("\u202bדנה\u202c דוגמה\u200f", "דנה דוגמה"),  # what a telephone pastes around it
        ("\u2066Robin\u2069 Sample\ufeff", "Robin Sample"),
        ("می\u200cنا نمونه", "می\u200cنا نمونه"),  # written with a joiner, which stays
    ],
)
def test_a_name_is_kept_in_its_normal_form(client, app, typed, kept):
    customer = Customer(client).walk_to("you")
    customer.send(**CONTACT | {"name": typed})
    assert customer.step == "read-back", customer.page.text
    customer.book()
    with app.extensions["unit"].read() as session:
        assert session.scalars(sa.select(Job)).one().customer.name == kept


@pytest.mark.parametrize("sign", ["☺", "😀", "<", "=", "€", "\ue000"])
def test_what_is_no_part_of_a_name_is_named_and_nothing_typed_is_lost(client, sign):
    customer = Customer(client).walk_to("you")
    customer.send(**CONTACT | {"name": f"Robin {sign} Sample"})
    assert customer.step == "you"
    (error,) = customer.errors()
    assert error.startswith("Remove “")
    assert error.endswith("Letters of any language, digits and punctuation are fine.")
    assert customer.fields["name"] == f"Robin {sign} Sample"
