"""A garage's own page: its link, its lists from paste to booking, its jobs, and nobody else's."""


from tests.garage import TWO_BAD, a_garage, fields_of, paste
from tests.page import Page


def test_a_list_is_pasted_corrected_booked_and_printed(app, unit) -> None:
    client, _ = a_garage(app, unit)
    path = paste(client, TWO_BAD)
    page = Page(client.get(path).text)
    assert len(page.all("li", data_state="wrong")) == 2
    assert not page.all("button", value="book")
    data = fields_of(page, path)
    data["r9-count"] = "4"
    data["r10-colour"] = "RAL 9005"
    assert client.post(path, data=data | {"do": "save"}).status_code == 303
    page = Page(client.get(path).text)
    assert not page.all("li", data_state="wrong")
    data = fields_of(page, path) | {"do": "book", "confirmed": "y"}
    answer = client.post(path, data=data)
    assert answer.status_code == 303, Page(answer.text).text
    assert client.post(path, data=data).status_code == 303
    page = Page(client.get(answer.location).text)
    assert len(page.all("tr")) == 11
    for way in ("/firm", "/firm/jobs", "/firm/jobs?all=1", "/firm/jobs?q=order 3", f"{path}/slips"):
        assert client.get(way).status_code == 200, way
    assert client.get(f"{path}/slips.pdf").data[:5] == b"%PDF-"
    code = page.all("a", class_="alone")[0].get("href")
    assert client.get(code).location.startswith("/J/")
