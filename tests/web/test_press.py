"""Paper is printed once: what is kept is found again, what has changed is printed anew."""

import pytest

from portal.orders.counter import bags
from portal.web.kit.paper import pdf as press
from portal.web.pictures.svg import fresh_id
from tests.factories import WHEELS, a_booked_job
from tests.web import paper


@pytest.fixture
def printed(app, monkeypatch) -> list[str]:
    """The pages that were laid out, one entry each time."""
    pages: list[str] = []

    class Watched(press.HTML):
        def render(self, *told, **named):
            pages.append(self.base_url)
            return super().render(*told, **named)

    monkeypatch.setattr(press, "HTML", Watched)
    # one that has printed nothing yet
    app.extensions["press"] = press.Press(app.extensions["assets"])
    return pages


def pdf(client, job, size="a4", what="slip") -> bytes:
    return client.get(f"/J/{job.token}/{what}.pdf?size={size}").data


def test_the_second_request_prints_nothing(client, unit, printed):
    job = a_booked_job(unit, WHEELS)  # with the wheel as ordered, whose ids are fresh each time
    first = pdf(client, job)
    assert len(printed) == 1
    assert pdf(client, job) == first
    assert len(printed) == 1


def test_another_paper_language_or_job_is_printed_and_kept_beside_it(client, unit, printed):
    job, other = a_booked_job(unit, WHEELS), a_booked_job(unit, WHEELS)
    found = [pdf(client, job), pdf(client, job, "letter"), pdf(client, other)]
    client.set_cookie("lang", "de")
    found.append(pdf(client, job))
    assert len(set(found)) == 4
    laid_out = len(printed)  # one that doesn't fit its page is set more densely
    assert 4 <= laid_out <= 8
    assert paper.sizes_mm(found[1]) == [pytest.approx((215.9, 279.4), abs=0.5)]
    client.delete_cookie("lang")
    assert pdf(client, job) == found[0]
    assert len(printed) == laid_out


def test_what_has_changed_is_printed_anew(client, unit, printed):
    job = a_booked_job(unit, WHEELS)
    before = pdf(client, job, what="tags")
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    after = pdf(client, job, what="tags")
    assert len(printed) == 2
    assert "4 centre caps" in paper.text_of(after)
    assert "4 centre caps" not in paper.text_of(before)


def test_what_is_kept_stays_within_its_bytes_and_the_oldest_goes_first():
    cache = press.PdfCache(most_bytes=100)
    cache.put("a", b"x" * 40)
    cache.put("b", b"y" * 40)
    assert cache.get("a")
    cache.put("c", b"z" * 40)
    assert cache.get("b") is None
    assert (cache.get("a"), cache.get("c")) == (b"x" * 40, b"z" * 40)
    cache.put("too large", b"x" * 101)
    assert cache.get("too large") is None
    assert cache.get("a") is None


def test_pages_that_differ_in_more_than_the_ids_of_pictures_are_two():
    def drawn(words: str) -> str:
        own = fresh_id()
        return f'<svg aria-labelledby="{own}"><title id="{own}">{words}</title><a href="#{own}f">'

    assert press._by_content(drawn("x")) == press._by_content(drawn("x"))
    assert press._by_content(drawn("x")) != press._by_content(drawn("y"))
    two = drawn("x") + drawn("x")
    assert press._by_content(two) != press._by_content(drawn("x") * 2)
