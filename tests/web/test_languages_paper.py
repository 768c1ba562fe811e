"""The slip in German, whose words are longer: as many pages as in English, nothing lost."""

import pypdfium2
import pytest

from portal.render.catalogues import catalogue
from tests.factories import PAINTED, TWO_COATS, a_booked_job
from tests.page import checked_client

COMPLETE = {
    **PAINTED,
    "damage": ["kerb_rash"],
    "fitted": ["tyre", "weights", "valve", "sensor", "centre_cap"],
    "removers": dict.fromkeys(["tyre", "weights", "valve", "sensor", "centre_cap"], "you"),
}


def printed(app, job, language: str, size: str) -> list[str]:
    """The text of each page of a slip."""
    client = checked_client(app)
    client.set_cookie("lang", language)
    answer = client.get(f"/J/{job.token}/slip.pdf?size={size}")
    assert answer.status_code == 200
    with pypdfium2.PdfDocument(answer.data) as paper:
        return [page.get_textpage().get_text_range() for page in paper]


@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize("sets", [(COMPLETE,), (COMPLETE, TWO_COATS, PAINTED)])
def test_a_slip_is_no_longer_in_german_or_spanish(app, sets, size: str) -> None:
    job = a_booked_job(app.extensions["unit"], *sets, bringing="complete")
    english = printed(app, job, "en", size)
    for language in ("de", "es"):
        pages = printed(app, job, language, size)
        assert len(pages) == len(english), language
        assert catalogue(language).gettext("Drop-off slip") in pages[0]
        assert job.code[:4] in pages[0]
