"""Where parts hang: on the slip's strip, on the job page, and another place by a form."""

from portal.shop.route import PartStage
from tests.factories import a_job_at

GATE = {
    "kind": "railing",
    "count": 1,
    "metal": "steel",
    "size_mm": [900, 800, 40],
    "layers": ["liquid_paint"],
    "closed": ["none"],
    "finish": {"system": "single", "colour": "R9005-S", "gloss": "satin"},
}


def test_another_place_is_agreed_on_the_job_page_and_told_at_coat_and_on_the_slip(
    hand, unit
) -> None:
    job = a_job_at(unit, PartStage.COAT)
    hand.go(f"/counter/job/{job.code}")
    assert "Hang: Bolt hole or centre bore" in hand.page.text
    hand.send("/hang", hang="by the valve hole")
    assert hand.told == ["Saved. The card at Coat shows it."]
    assert "Hang: by the valve hole (as agreed with the customer)" in hand.page.text
    hand.go("/counter/floor")
    assert "Hang: by the valve hole" in hand.page.text
    hand.go(f"/J/{job.token}/slip")
    assert "Hangby the valve hole" in hand.page.text


def test_the_usual_place_stands_on_the_slip(hand, unit) -> None:
    job = a_job_at(unit, PartStage.PREP, GATE)
    hand.go(f"/J/{job.token}/slip")
    assert "HangFixing or hinge hole" in hand.page.text
