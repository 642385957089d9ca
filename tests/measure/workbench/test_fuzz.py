"""The described interface fed with what it describes and what it does not: never a 500."""

from __future__ import annotations

import warnings

import pytest
from hypothesis import HealthCheck, given, settings

from tests.support.workbench import RunningWorkbench

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture(scope="module")
def schema(workbench: RunningWorkbench) -> object:
    with workbench.client() as client:
        survey = client.post("/api/demo", json={}).json()
        described = client.get("/openapi.json").json()
    # every survey route is asked about the demo, so that the fuzzing goes beyond "not found"
    for path in described["paths"].values():
        for operation in path.values():
            for parameter in operation.get("parameters", []):
                if parameter["name"] == "key":
                    parameter["schema"] = {"type": "string", "enum": [survey["key"]]}
    return schemathesis.openapi.from_dict(described)


@pytest.mark.parametrize("mode", list(schemathesis.GenerationMode), ids=lambda mode: mode.value)
def test_no_request_ends_in_a_bug(schema, workbench, mode):
    asked = 0
    for found in schema.get_all_operations():
        operation = found.ok()
        if mode is schemathesis.GenerationMode.NEGATIVE and not _can_be_wrong(operation):
            continue

        @settings(
            max_examples=30,
            deadline=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
            database=None,
        )
        @given(case=operation.as_strategy(generation_mode=mode))
        def fuzz(case: object) -> None:
            nonlocal asked
            asked += 1
            answer = case.call(base_url=workbench.address, cookies=workbench.cookies)
            assert answer.status_code < 500, (case.method, case.path, answer.text)
            if answer.status_code >= 400:
                told = answer.json()
                assert told["message"]
                assert told["code"] != "bug"

        fuzz()
    assert asked > 100


def _can_be_wrong(operation: object) -> bool:
    """Whether an operation takes anything that could be given wrongly."""
    return bool(operation.body or operation.query or operation.path_parameters)
