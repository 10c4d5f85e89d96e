"""The API as its own description says it is, asked in every way that description allows and in many it does not.

schemathesis makes the requests from the OpenAPI description (OpenAPI Initiative, 3.1) and judges the answers by it.
"""

from __future__ import annotations

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from asmade.verbs import demo
from asmade.web.app import create_app

CHECKS = (not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance)


def described(book):
    return schemathesis.openapi.from_asgi("/api/openapi.json", create_app(book, hosts=("testserver",)))


LABELS = sorted(found.ok().label for found in described("no-book-is-read-for-this.asmade").get_all_operations())


@pytest.fixture(scope="module")
def operations(tmp_path_factory):
    book = demo.demo(tmp_path_factory.mktemp("described")).path
    return {found.ok().label: found.ok() for found in described(book).get_all_operations()}


@pytest.mark.parametrize("label", LABELS)
def test_every_answer_is_as_described_whatever_is_asked(label, operations):
    operation = operations[label]
    right = operation.as_strategy(generation_mode=GenerationMode.POSITIVE)
    wrong = operation.as_strategy(generation_mode=GenerationMode.NEGATIVE)
    asked = right | wrong if operation.query or operation.body or operation.path_parameters else right

    @given(case=asked, _=st.none())
    @settings(max_examples=2 if "choose" in label else 6, deadline=None, phases=[Phase.generate], database=None, derandomize=True,
              suppress_health_check=list(HealthCheck))  # fmt: skip
    def ask(case, _):
        case.call_and_validate(checks=CHECKS, timeout=120)

    ask()
