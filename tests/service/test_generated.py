"""Requests made from the service's own OpenAPI document, right and wrong: no 5xx, and all answers fit the document."""

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from jsonschema import Draft202012Validator
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from caddiebrain.service.asks import ASKS

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
few = settings(
    max_examples=5, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
)
many = settings(few, max_examples=50)


def test_the_document_is_served_and_its_schemas_are_sound(client):
    served = client.get("/openapi.json").json()
    assert served["openapi"] == "3.1.0"
    assert set(served["paths"]) == {*(f"/{verb}" for verb in ASKS), "/health"}
    for schema in served["components"]["schemas"].values():
        Draft202012Validator.check_schema(schema)


def send_generated(address: str, verb: str, mode: GenerationMode, how_many: settings) -> set[int]:
    """Send requests made from the document; return the statuses that came back."""
    operation = schemathesis.openapi.from_url(f"{address}/openapi.json")[f"/{verb}"]["POST"]
    seen = set()

    @how_many
    @given(operation.as_strategy(generation_mode=mode))
    def send(case):
        response = case.call(base_url=address, timeout=120)
        case.validate_response(response, checks=CHECKS)
        seen.add(response.status_code)

    send()
    return seen


@pytest.mark.parametrize("mode", GenerationMode, ids=lambda mode: mode.value)
@pytest.mark.parametrize("verb", ASKS)
def test_no_generated_request_breaks_it(address, verb, mode):
    seen = send_generated(address, verb, mode, few)
    assert seen <= {200, 400, 413, 415, 422}
    assert mode is GenerationMode.POSITIVE or 422 in seen


@pytest.mark.slow
@pytest.mark.parametrize("mode", GenerationMode, ids=lambda mode: mode.value)
@pytest.mark.parametrize("verb", ASKS)
def test_nor_do_many(address, verb, mode):
    assert send_generated(address, verb, mode, many) <= {200, 400, 413, 415, 422}
