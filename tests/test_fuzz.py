"""A slice of ``make fuzz``: damaged input is read or refused in words."""

from __future__ import annotations

import pytest

from tests.support.fuzz import Reader, readers, server_answers, tried

TRIALS = 60
READERS = readers()


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
def test_damaged_input_is_read_or_refused(reader: Reader) -> None:
    outcome = tried(reader, TRIALS, seed=0, longest_s=60.0)
    assert outcome.faults == []
    assert outcome.read + outcome.refused == TRIALS
    assert outcome.refused


@pytest.mark.parametrize("kind", ["osrm", "valhalla"])
def test_damaged_answers_of_a_server_are_read_or_refused(kind: str) -> None:
    outcome = server_answers(kind, 15, seed=0)
    assert outcome.faults == []
    assert outcome.refused


def test_a_reader_that_fails_is_found_out() -> None:
    def fails(folder: object, data: bytes) -> None:
        raise IndexError("out of range")

    assert (
        tried(Reader("bad", (b"seed",), fails), 3, seed=0, longest_s=60.0)
        .faults[0]
        .endswith("IndexError: out of range")
    )
