"""Every reference case says where its numbers are from."""

import json
from pathlib import Path

import pytest

REFERENCE = Path(__file__).parents[1] / "reference"
FILES = sorted(REFERENCE.rglob("*.json"))


@pytest.mark.parametrize("file", FILES, ids=[str(f.relative_to(REFERENCE)) for f in FILES])
def test_a_reference_case_names_its_source(file):
    case = json.loads(file.read_text())
    assert len(case["source"].split()) >= 4


def test_there_are_cases_of_every_room():
    rooms = {file.parent.name for file in FILES}
    assert rooms == {"jobs", "mounts", "press", "shock", "sixdof"}
