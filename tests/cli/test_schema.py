"""The published schema of what `--json` answers."""

import json

import pytest
from jsonschema import Draft202012Validator

from pegwood.cli._schemas import schema, schema_names


@pytest.mark.parametrize("name", schema_names())
def test_every_schema_is_one_and_describes_each_of_its_keys(name):
    found = schema(name)
    Draft202012Validator.check_schema(found)
    assert found["title"]
    assert found["additionalProperties"] is False
    assert all("description" in one or "$ref" in one for one in found["properties"].values())


def test_it_is_printed_whole(run):
    names = run("schema").output.split()
    assert names == list(schema_names())
    for name in names:
        assert json.loads(run("schema", name).output) == schema(name)


def test_an_unknown_name_is_one_line(run):
    ended = run("schema", "measure.luck")
    assert ended.exit_code == 2
    assert "No answer 'measure.luck'" in ended.output
