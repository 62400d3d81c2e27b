"""The method of travel that the operation names."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.domain.errors import FeedroundError
from routing.domain.settings import TravelSettings
from routing.travel.choose import travel_for
from tests.support.samples import operation


def test_straight_lines_need_no_folder_and_no_network() -> None:
    assert travel_for(operation()).provenance.method == "straight"


@pytest.mark.parametrize("method", ["roads", "engine", "server", "teleport"])
def test_other_methods_are_refused_with_what_to_set_instead(method: str, tmp_path: Path) -> None:
    with pytest.raises(FeedroundError) as refusal:
        travel_for(operation(travel=TravelSettings(method=method)), tmp_path)
    for words in ("operation.toml", "[travel]", f'method = "{method}"', 'method = "straight"'):
        assert words in str(refusal.value)
