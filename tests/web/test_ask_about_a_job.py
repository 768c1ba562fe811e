"""A question by the link: asked on the page, answered at the counter, read on the page again."""

from io import BytesIO

import pytest
from PIL import Image

from tests.cast import COUNTER, sign_in
from tests.factories import a_booked_job, a_job_in_work
from tests.page import checked_client
from tests.web.hand import Hand


def a_picture() -> tuple[BytesIO, str]:
    stream = BytesIO()
    Image.new("RGB", (40, 30), "red").save(stream, "PNG")
    stream.seek(0)
    return stream, "wheel.png"


@pytest.fixture
def visitor(client):
    return lambda job: Hand(client, f"/J/{job.token}")


@pytest.fixture
def counter(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), COUNTER))


@pytest.mark.parametrize("made", [a_booked_job, a_job_in_work])
def test_a_question_is_asked_answered_and_read(visitor, counter, unit, made) -> None:
    job = made(unit)
    hand = visitor(job)
    assert any(a.get("href") == f"/J/{job.token}/ask" for a in hand.page.all("a"))
    hand.go(f"/J/{job.token}/ask")
    hand.send("/ask", text="May I watch?\nIt is for my son.")
    assert hand.told == ["We have your question."]
    assert "It is for my son." in hand.page.text
    hand.go(f"/J/{job.token}")
    assert "We have your question and answer soon." in hand.page.text

    counter.go("/counter/today")
    (line,) = [a for a in counter.page.all("a") if "/counter/threads/" in a.get("href", "")]
    counter.go(line.get("href"))
    assert counter.heading == "Question from Robin Sample"
    counter.send(line.get("href"), answer=" ")
    assert counter.wrong("answer") == "Error: Enter your answer."
    counter.send(line.get("href"), answer="Yes, on Friday.")
    assert counter.told == ["The answer is on its way."]
    counter.go(f"/counter/job/{job.code}")
    assert "Yes, on Friday." in counter.page.text

    hand.go(f"/J/{job.token}")
    assert "We have answered your question." in hand.page.text
    hand.go(f"/J/{job.token}/ask")
    assert "Yes, on Friday." in hand.page.text


def test_a_photo_is_kept_when_the_words_are_missing(visitor, unit) -> None:
    job = a_booked_job(unit)
    hand = visitor(job)
    hand.go(f"/J/{job.token}/ask")
    hand.send("/ask", text="", photo=a_picture())
    assert (hand.at.status_code, hand.wrong("text")) == (422, "Error: Write what it is about.")
    hand.send("/ask", text="What is this?")
    assert hand.page.one("img", class_="snap").get("src").startswith("/photo/")
    hand.send("/ask", text="And this?", photo=(BytesIO(b"no picture"), "x.png"))
    assert hand.wrong("photo").startswith("Error: We can't read this file as a photo.")
    assert "And this?" in hand.page.text


def test_an_answer_from_an_older_page_is_told_what_was_written(visitor, counter, unit) -> None:
    job = a_booked_job(unit)
    hand = visitor(job)
    hand.go(f"/J/{job.token}/ask")
    hand.send("/ask", text="One?")
    counter.go("/counter/questions")
    (line,) = [a for a in counter.page.all("a") if "/counter/threads/" in a.get("href", "")]
    counter.go(line.get("href"))
    hand.send("/ask", text="Two?")
    counter.send(line.get("href"), answer="Yes to one.")
    assert counter.at.status_code == 422
    assert "The customer wrote again in the meantime." in counter.page.text
    assert "Yes to one." in counter.page.text
    counter.send(line.get("href"), answer="Yes to both.")
    assert counter.told == ["The answer is on its way."]
