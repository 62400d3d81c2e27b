from __future__ import annotations

from dataclasses import replace
from math import ceil

from hypothesis import given, settings
from hypothesis import strategies as st

from routing.domain.places import Stores
from routing.domain.supplies import FeederPosition, Syrup, SyrupKind
from routing.need.keeping import keeping_days
from routing.need.mixing import mix_by_weight
from routing.need.ration import need_of_day
from routing.need.syrup import resolve, sucrose_kg_per_m3
from routing.need.uptake import uptake_l_per_day
from tests.support import samples
from tests.support.farm import DAY, FEEDERS, farm, group

HIVE_FEEDERS = ("frame2", "pail2", "trough", "tray", "jar")
QUICK = settings(max_examples=60, deadline=None)

strengths = st.floats(0.5, 20)
stores = st.floats(0, 60)
temperatures = st.floats(10, 35)


@QUICK
@given(stores, stores, st.sampled_from(HIVE_FEEDERS), st.sampled_from(("winter", "survive", "build")))
def test_more_stores_never_mean_more_syrup(a: float, b: float, feeder_id: str, goal: str) -> None:
    """Also across the target, below which a colony is filled up to it and above which it is left."""
    little, much = sorted((a, b))
    volumes = [
        need_of_day(farm(group(feeder_id=feeder_id, stores=Stores(stores_kg=kg)), goal=goal), DAY)[0].volume_l
        for kg in (little, much)
    ]
    assert volumes[0] >= volumes[1] - 1e-9


@QUICK
@given(
    stores, strengths, temperatures, st.sampled_from((*HIVE_FEEDERS, "tub")),
    st.sampled_from(("2:1", "1:1", "hfcs55")), st.floats(0, 20), st.booleans(), st.booleans(),
)  # fmt: skip
def test_no_feeder_is_ever_given_more_than_it_takes(
    kg: float, frames: float, air_c: float, feeder_id: str, syrup_id: str, left_l: float, level: bool,
    us: bool,
) -> None:  # fmt: skip
    one = group(
        stores=Stores(stores_kg=kg), strength_frames=frames, feeder_id=feeder_id, syrup_id=syrup_id,
        feed_left_l=left_l,
    )  # fmt: skip
    operation = farm(
        one, yard=samples.yard("Y1", level=level), units="us" if us else "metric", communal=True,
        temperature_c=air_c,
    )  # fmt: skip
    feeder = FEEDERS[feeder_id]
    free = max(0.0, feeder.capacity_l * (1 - (0 if level else feeder.tilt_derate)) - left_l)
    for dose in need_of_day(operation, DAY)[0].doses:
        most = free if feeder.position is FeederPosition.COMMUNAL else free * dose.colonies
        assert 0 < dose.volume_l <= most + 0.0006
        assert dose.swapped or dose.each_l >= 0.25 - 0.19
        whole_ml = abs(dose.each_l * 1000 - round(dose.each_l * 1000)) < 1e-6
        assert whole_ml or dose.each_l == feeder.capacity_l


@QUICK
@given(stores, st.sampled_from(HIVE_FEEDERS))
def test_rounds_to_come_would_close_the_gap_and_one_fewer_would_not(kg: float, feeder_id: str) -> None:
    one = group(feeder_id=feeder_id, stores=Stores(stores_kg=kg))
    found = need_of_day(farm(one, daily_use_kg=0.0), DAY)[0]
    if not found.doses:
        return
    per_l = 1.32675 * 2 / 3 * 0.8 / 0.814
    missing_l = (90 * 0.45359237 - kg) / per_l - found.doses[0].each_l
    per_round = FEEDERS[feeder_id].capacity_l
    assert found.rounds_left * per_round >= missing_l - 0.2
    assert (found.rounds_left - 1) * per_round < max(missing_l, 1e-6)
    assert found.rounds_left <= max(0, ceil(missing_l / per_round + 1e-3))


@QUICK
@given(strengths, strengths, temperatures, st.sampled_from(list(FeederPosition)))
def test_more_frames_of_bees_never_take_less(
    a: float, b: float, air_c: float, position: FeederPosition
) -> None:
    few, many = sorted((a, b))
    assert uptake_l_per_day(few, position, air_c) <= uptake_l_per_day(many, position, air_c)


@QUICK
@given(st.floats(-20, 45), st.floats(-20, 45), strengths, st.sampled_from(list(FeederPosition)))
def test_warmer_air_never_slows_the_taking(
    a: float, b: float, frames: float, position: FeederPosition
) -> None:
    cold, warm = sorted((a, b))
    assert uptake_l_per_day(frames, position, cold) <= uptake_l_per_day(frames, position, warm)


@QUICK
@given(
    st.sampled_from((SyrupKind.SUCROSE, SyrupKind.HFCS42, SyrupKind.HFCS55, SyrupKind.INVERT)),
    st.floats(0.05, 0.8), st.floats(0, 60),
)  # fmt: skip
def test_resolved_density_is_one_a_syrup_can_have(
    kind: SyrupKind, solids: float, temperature_c: float
) -> None:
    syrup = Syrup("s", kind, solids, price_per_kg=1.0, temperature_c=temperature_c)
    found = resolve(replace(farm(group()), syrups={"s": syrup})).syrups["s"]
    assert found.density_kg_per_l is not None
    assert 0.95 < found.density_kg_per_l < 1.45
    assert found.price_per_l == found.density_kg_per_l


@QUICK
@given(st.floats(0, 0.8), st.floats(0, 0.8), st.floats(0, 60))
def test_more_sugar_is_heavier(a: float, b: float, temperature_c: float) -> None:
    thin, thick = sorted((a, b))
    assert sucrose_kg_per_m3(thin, temperature_c) <= sucrose_kg_per_m3(thick, temperature_c)


@QUICK
@given(st.floats(0.3, 0.77), st.floats(0.3, 0.77), st.floats(-5, 45))
def test_thicker_syrup_keeps_no_shorter(a: float, b: float, temperature_c: float) -> None:
    thin, thick = sorted((a, b))
    assert keeping_days(thin, temperature_c) <= keeping_days(thick, temperature_c)


@QUICK
@given(st.floats(1, 5000), st.floats(0.5, 3), st.floats(0, 60))
def test_mixed_batch_has_the_volume_asked_for(volume_l: float, parts: float, temperature_c: float) -> None:
    batch = mix_by_weight(volume_l, parts, 1.0, temperature_c)
    assert abs(batch.volume_l - volume_l) < 1e-9 * volume_l
    assert abs(batch.solids - parts / (parts + 1)) < 1e-12
