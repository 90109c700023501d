"""The fold on the vectors that the phone's fold must pass as well."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from baywalk.fieldbook import fold
from baywalk.fieldbook.entry import entry_fault
from baywalk.fieldbook.head import head_fault

VECTORS = sorted((Path(__file__).parents[3] / "shared" / "vectors" / "fold").glob("*.json"))


@pytest.mark.parametrize("path", VECTORS, ids=lambda path: path.stem)
def test_vector(path: Path) -> None:
    vector = json.loads(path.read_text(encoding="utf-8"))
    assert head_fault(vector["head"]) is None
    assert [entry_fault(entry) for entry in vector["entries"]] == [None] * len(vector["entries"])
    for seed in range(5):
        entries = list(vector["entries"])
        random.Random(seed).shuffle(entries)
        survey = fold(vector["head"], entries)
        expect = vector["expect"]
        assert [entry["id"] for entry in survey.entries] == expect["order"]
        assert survey.struck == expect["struck"]
        assert survey.standing == set(expect["order"]) - set(expect["struck"])
        assert survey.head == expect["head"]


def test_there_are_vectors() -> None:
    assert len(VECTORS) >= 18
