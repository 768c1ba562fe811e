"""The figures for whoever watches the portal, and nobody else."""

import re
from dataclasses import replace

from portal.orders.kernel.heartbeat import beat
from tests.factories import a_booked_job

TOKEN = "a token of more than sixteen letters"
# OpenMetrics 1.0: a sample is a name, labels in braces, and a number; a counter ends in _total
SAMPLE = re.compile(r'(portal_[a-z_]+)(\{status="[2-5]xx"\})? (\d+)')


def read(client, app) -> dict[str, int]:
    app.extensions["settings"] = replace(app.extensions["settings"], metrics_token=TOKEN)
    answer = client.get("/metrics", headers={"Authorization": f"Bearer {TOKEN}"})
    assert answer.status_code == 200
    assert answer.headers["Content-Type"].startswith("application/openmetrics-text; version=1.0.0")
    assert answer.text.endswith("\n# EOF\n")
    lines = [line for line in answer.text.splitlines() if not line.startswith("#")]
    found = [SAMPLE.fullmatch(line) for line in lines]
    assert all(found), lines
    kinds = dict(re.findall(r"^# TYPE (\S+) (\S+)$", answer.text, re.MULTILINE))
    for one in found:
        name = one[1]
        assert kinds[name.removesuffix("_total")] == ("counter" if "_total" in name else "gauge")
    return {one[1] + (one[2] or ""): int(one[3]) for one in found}


def test_the_figures_that_matter_are_told(client, app, unit, clock) -> None:
    before = read(client, app)
    a_booked_job(unit)
    beat(unit, trouble=None)
    clock.advance(minutes=2)
    client.get("/nowhere")
    after = read(client, app)
    assert after["portal_jobs_open"] == before["portal_jobs_open"] + 1
    assert after["portal_mail_worker_seconds"] == 120
    assert after["portal_letters_waiting"] == 0
    missed = 'portal_requests_total{status="4xx"}'
    assert after[missed] == before[missed] + 1


def test_without_its_token_there_are_no_figures(client, app) -> None:
    assert client.get("/metrics", headers={"Authorization": "Bearer "}).status_code == 404
    read(client, app)
    assert client.get("/metrics").status_code == 404
    assert client.get("/metrics", headers={"Authorization": "Bearer x"}).status_code == 404
