"""No request, however odd, makes the desk go wrong: thousands of them made from its own description."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import httpx
import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis import Case

from fieldfare.desk.app import make_app
from fieldfare.desk.settings import Settings

SLOW = {
    "/shows/{key}/sheets/{name}.pdf",
    "/shows/{key}/stage/try",
    "/shows/{key}/offload",
    "/shows",
    "/shows/{key}/sheets/whatif",
}
SCHEMA = schemathesis.openapi.from_dict(make_app(Settings(root=Path(), explain=False)).openapi()).exclude(
    path=sorted(SLOW)
)


@SCHEMA.parametrize()
@settings(
    max_examples=12, deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.generate], derandomize=True
)
def test_no_request_makes_it_go_wrong(case: Case[Any], client: httpx.Client) -> None:
    found = re.search(r'name="csrf" content="([0-9a-f]+)"', client.get("/").text)
    assert found is not None
    if "key" in case.path_parameters:
        case.path_parameters["key"] = "midwinter-dance"
    answer = case.call(base_url=str(client.base_url), headers={"x-csrf-token": found[1]}, cookies=dict(client.cookies))
    assert answer.status_code < 500
