from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from routing.domain.clock import TimeWindow
from routing.domain.errors import InputError
from routing.domain.places import Foulbrood, Frame, Health, Stores
from routing.domain.ration import ReasonCode
from routing.domain.settings import WorkSettings
from routing.domain.supplies import Syrup, SyrupKind
from routing.domain.units import KG_PER_LB, L_PER_US_GAL
from routing.need.ration import need_of_day
from tests.support import samples
from tests.support.builders import DAY as BUILDER_DAY
from tests.support.builders import small_operation
from tests.support.farm import DAY, FEEDERS, SYRUPS, TWO_GAL_L, farm, group, need


def test_colony_short_of_its_winter_target_gets_what_closes_the_gap() -> None:
    """40 lb short takes 5.51 gal of 2:1; a 3 gal trough takes 3.00 now, 2.51 are left for a round."""
    found = need(group(50, feeder_id="trough"), daily_use_kg=0.0)
    assert found.doses[0].each_l == pytest.approx(3 * L_PER_US_GAL, abs=0.004)
    assert found.rounds_left == 1
    assert "hold 50 lb each of the 90 lb wanted; 5.51 gal of 2:1 each would close it" in found.why


def test_use_until_the_next_visit_comes_on_top_of_the_winter_target() -> None:
    without = need(group(84, feeder_id="trough"), daily_use_kg=0.0).volume_l
    found = need(group(84, feeder_id="trough"), daily_use_kg=0.3, next_visit_days=10)
    per_l = 1.32675 * 2 / 3 * 0.8 / 0.814
    assert found.volume_l - without == pytest.approx(24 * 3.0 / per_l, abs=24 * 0.19)


def test_colony_that_holds_its_target_is_left_alone() -> None:
    found = need(group(91))
    assert (found.doses, found.reason_code) == ((), ReasonCode.STORES_ENOUGH)
    assert found.reason == "91 lb of stores a colony, 90 lb wanted"
    assert "target_stores_lb" in found.remedy


def test_survival_feeds_the_reserve_and_the_use_until_the_next_visit() -> None:
    settings = {"goal": "survive", "reserve_days": 14, "next_visit_days": 10, "daily_use_kg": 0.3}
    found = need(group(5.0), **settings)
    short_kg = 24 * 0.3 - 5 * KG_PER_LB
    wanted_l = short_kg / (1.32675 * 2 / 3 * 0.8 / 0.814)
    assert wanted_l <= found.doses[0].each_l <= wanted_l + 0.19
    assert need(group(24 * 0.3 / KG_PER_LB), **settings).reason_code is ReasonCode.STORES_ENOUGH


def test_build_up_feeds_a_daily_ration_whatever_the_stores() -> None:
    settings = {"goal": "build", "build_l_per_day": 0.4, "next_visit_days": 10}
    for stores_lb in (30, 90):
        found = need(group(stores_lb, syrup_id="1:1"), **settings)
        assert 4.0 <= found.doses[0].each_l <= 4.19
    assert "are to build up on 0.11 gal a day for the 10 days" in found.why


def test_build_up_gives_no_less_than_survival() -> None:
    settings = {"build_l_per_day": 0.05, "next_visit_days": 10}
    hungry = group(1.0, syrup_id="1:1")
    survive = need(hungry, goal="survive", **settings)
    assert need(hungry, goal="build", **settings).doses == survive.doses


def test_full_feeder_dose_is_its_capacity_and_forty_of_them_weigh_885_8_lb() -> None:
    found = need(group(30, colonies=40))
    assert found.doses[0].each_l == TWO_GAL_L
    assert found.volume_l * 1.32675 / KG_PER_LB == pytest.approx(885.8, abs=0.05)


def test_forty_hives_at_0_8_min_take_32_min_and_with_10_min_set_up_42() -> None:
    found = need(group(30, colonies=40))
    assert (found.service_s + 600) / 60 == pytest.approx(42.0)


def test_syrup_left_in_the_feeder_takes_up_room_and_counts_towards_the_want() -> None:
    found = need(group(50, feed_left_l=2.0))
    assert TWO_GAL_L - 2.0 - 0.19 < found.doses[0].each_l <= TWO_GAL_L - 2.0
    little = need(group(89, feed_left_l=5.0))
    assert little.reason_code is ReasonCode.FEEDER_FULL
    assert "still has 1.32 gal in it a colony, which covers the need" in little.reason


def test_room_a_hair_under_a_whole_step_is_that_step() -> None:
    found = need(group(20, feed_left_l=round(0.2 * L_PER_US_GAL, 6)))
    assert found.doses[0].each_l / L_PER_US_GAL == pytest.approx(1.80, abs=0.0003)


def test_many_rounds_to_come_ask_for_a_larger_feeder() -> None:
    lean = {"daily_use_kg": 0.05, "next_visit_days": 7}
    assert any("larger feeder" in c for c in need(group(20, feeder_id="jar"), **lean).outlook)


def test_a_jar_that_holds_less_than_is_eaten_between_visits_never_meets_the_goal() -> None:
    """A quart of 2:1 becomes 1.8 lb; at 0.66 lb a day 4.6 lb are eaten in a week."""
    found = need(group(20, feeder_id="jar"), next_visit_days=7)
    assert found.rounds_left == 999
    assert "with this feeder the goal is never met" in found.why
    assert any("the target is never met" in line for line in found.outlook)
    assert not any("larger feeder" in caution for caution in need(group(70)).cautions)


def test_full_feeder_is_named_as_the_reason() -> None:
    found = need(group(20, feed_left_l=TWO_GAL_L))
    assert found.reason_code is ReasonCode.FEEDER_FULL
    assert "queenless" in found.remedy


def test_hive_top_trough_loses_capacity_on_a_slope() -> None:
    flat = need(group(20, feeder_id="trough"))
    slope = need(group(20, feeder_id="trough"), yard=samples.yard("Y1", level=False))
    assert slope.volume_l == pytest.approx(flat.volume_l * 0.7, rel=1e-6)


def test_level_yard_does_not_matter_to_a_feeder_that_loses_nothing() -> None:
    assert need(group(20), yard=samples.yard("Y1", level=False)).volume_l == need(group(20)).volume_l


def test_pail_is_given_whole_or_not_at_all() -> None:
    lacking = need(group(80, feeder_id="pail2"))
    assert lacking.doses[0].swapped
    assert lacking.doses[0].each_l == TWO_GAL_L
    assert lacking.doses[0].pails == 24
    little = need(group(86, feeder_id="pail2"), daily_use_kg=0.1)
    assert little.reason_code is ReasonCode.FEEDER_REFUSED
    assert "less than half of pail2" in little.reason


@pytest.mark.parametrize(("share", "due"), [(0.45, False), (0.55, True)])
def test_pail_is_due_from_half_a_pail_of_need(share: float, due: bool) -> None:
    per_l = 1.32675 * 2 / 3 * 0.8 / 0.814
    lacking_lb = share * TWO_GAL_L * per_l / KG_PER_LB
    found = need(group(90 - lacking_lb, feeder_id="pail2"), daily_use_kg=0.0)
    assert bool(found.doses) is due


def test_pail_more_than_half_full_is_left_and_one_less_than_half_full_is_swapped() -> None:
    left = need(group(30, feeder_id="pail2", feed_left_l=TWO_GAL_L * 0.51))
    assert left.reason_code is ReasonCode.FEEDER_FULL
    swapped = need(group(30, feeder_id="pail2", feed_left_l=TWO_GAL_L * 0.4))
    assert swapped.doses[0].pails == 24
    assert swapped.doses[0].each_l == pytest.approx(TWO_GAL_L * 0.6, abs=0.001)
    assert any("into the new one" in caution for caution in swapped.cautions)


def test_two_gallon_pail_lasts_a_strong_colony_about_a_week() -> None:
    found = need(group(30, feeder_id="pail2", strength_frames=9.0))
    assert "empty in about 7 days" in found.why


def test_weak_colony_gets_no_more_thin_syrup_than_it_takes_before_it_spoils() -> None:
    strong = need(group(20, syrup_id="1:1", strength_frames=10))
    weak = need(group(20, syrup_id="1:1", strength_frames=3))
    assert strong.doses[0].each_l == TWO_GAL_L
    assert weak.doses[0].each_l < 4.0
    assert "it keeps" in weak.why
    assert any("spoils" in caution for caution in weak.cautions)


def test_weak_colony_gets_no_pail_that_would_spoil_unless_it_starves() -> None:
    few = {"feeder_id": "pail2", "syrup_id": "1:1", "strength_frames": 1.0}
    assert need(group(30, **few)).reason_code is ReasonCode.FEEDER_REFUSED
    starving = need(group(2, **few))
    assert starving.starving
    assert starving.doses[0].each_l == TWO_GAL_L
    assert any("may spoil" in caution for caution in starving.cautions)


def test_several_groups_of_a_yard_are_fed_each_its_own() -> None:
    found = need(
        group(50, group="strong"),
        group(20, group="weak", colonies=6, feeder_id="trough", syrup_id="hfcs55"),
        group(120, group="fat", colonies=4),
    )
    assert [(d.group, d.syrup_id, d.colonies) for d in found.doses] == [
        ("strong", "2:1", 24), ("weak", "hfcs55", 6),
    ]  # fmt: skip
    assert found.colonies == 34
    assert "fat: nothing today for 4 colonies" in found.why
    assert found.why.count(".") >= 1
    assert found.why.endswith(".")


def test_yards_come_out_in_the_order_of_the_operation_each_once() -> None:
    operation = small_operation()
    needs = need_of_day(operation, BUILDER_DAY)
    assert [n.yard_id for n in needs] == list(operation.yards)
    for found in needs:
        assert bool(found.doses) != (found.reason_code is not None)
        assert found.why.endswith(".")
        assert bool(found.reason) == bool(found.remedy) == (not found.doses)


def test_metric_operation_is_told_in_kilograms_and_litres() -> None:
    found = need(group(50), units="metric")
    assert " kg each of the 41 kg wanted" in found.why
    assert "7.57 L" in found.why
    assert "gal" not in found.why


def test_starving_colony_is_fed_even_where_the_goal_asks_for_nothing() -> None:
    """A reserve shorter than what counts as starving is no reason to leave it."""
    settings = {"goal": "survive", "reserve_days": 0, "next_visit_days": 0, "starving_days": 5}
    found = need(group(4.9 * 0.3 / KG_PER_LB), **settings)
    assert found.starving
    assert found.doses[0].each_l >= 0.25


def test_starving_yard_is_flagged_also_when_it_cannot_be_fed() -> None:
    hungry = group(1.0)
    assert need(hungry).starving
    refused = need(hungry, yard=samples.yard("Y1", supers_on=True))
    assert refused.starving
    assert refused.reason_code is ReasonCode.SUPERS_ON
    assert refused.days_of_stores == pytest.approx(KG_PER_LB / 0.3)


@pytest.mark.parametrize(
    ("yard", "code"),
    [
        (samples.yard("Y1", supers_on=True), ReasonCode.SUPERS_ON),
        (samples.yard("Y1", temperature_c=8.0), ReasonCode.TOO_COLD),
        (samples.yard("Y1", from_date=DAY + timedelta(1)), ReasonCode.CLOSED),
        (samples.yard("Y1", until_date=DAY - timedelta(1)), ReasonCode.CLOSED),
    ],
)
def test_yard_that_must_not_be_fed_says_why(yard: object, code: ReasonCode) -> None:
    found = need(group(20), yard=yard)
    assert (found.doses, found.reason_code) == ((), code)
    assert found.remedy


def test_quarantined_yard_is_left_out_where_the_keeper_says_so() -> None:
    quarantined = samples.yard("Y1", health=Health.QUARANTINE)
    assert need(group(20), yard=quarantined).doses
    left = need(group(20), yard=quarantined, work=WorkSettings(quarantine_permit=False))
    assert left.reason_code is ReasonCode.NO_PERMIT


def test_yard_open_on_its_first_and_last_day() -> None:
    assert need(group(20), yard=samples.yard("Y1", from_date=DAY, until_date=DAY)).doses


def test_quarantined_yard_is_fed_once_the_permit_is_confirmed() -> None:
    found = need(
        group(20),
        yard=samples.yard("Y1", health=Health.QUARANTINE),
        work=WorkSettings(quarantine_permit=True),
    )
    assert found.doses
    assert any("ask your vet" in caution for caution in found.cautions)
    assert any("no pail" in caution for caution in found.cautions)


@pytest.mark.parametrize("found", [Foulbrood.SUSPECTED, Foulbrood.CONFIRMED])
def test_a_yard_with_foulbrood_is_fed_only_by_a_typed_permit(found: Foulbrood) -> None:
    """Whatever the setting for quarantined yards says."""
    ill = {"health": Health.QUARANTINE, "foulbrood": found}
    allowed = WorkSettings(quarantine_permit=True)
    left = need(group(20), yard=samples.yard("Y1", **ill), work=allowed)
    assert (left.doses, left.reason_code) == ((), ReasonCode.NO_PERMIT)
    assert f"foulbrood is {found.value}" in left.reason
    fed = need(group(20), yard=samples.yard("Y1", permit="inspector, 3 Sept", **ill), work=allowed)
    assert fed.doses
    assert any("inspector, 3 Sept" in caution for caution in fed.cautions)


def test_a_yard_called_in_must_be_fed_and_its_card_says_who_called() -> None:
    found = need(group(60), yard=samples.yard("Y1", called_in="bees at the doors"))
    assert found.must
    assert found.cautions[0] == "URGENT: bees at the doors (called in)"


def test_nothing_is_given_in_a_flow_that_brings_the_target_by_the_next_visit() -> None:
    """75 lb and ten days of 1.8 lb net make 93 lb."""
    assert need(group(75, flow_kg_per_day=0.3 + 1.8 * KG_PER_LB)).reason_code is ReasonCode.FLOW_ON
    assert need(group(70, flow_kg_per_day=0.3 + 1.8 * KG_PER_LB)).doses


def test_a_flow_that_only_covers_the_use_does_not_stop_feeding() -> None:
    """2.3 lb of stores in a flow of 0.6 lb a day: starving, and fed."""
    found = need(group(2.3, flow_kg_per_day=0.6 * KG_PER_LB), daily_use_kg=0.6 * KG_PER_LB)
    assert found.starving
    assert found.doses
    assert found.days_of_stores == pytest.approx(2.3 / 0.6)


def test_a_flow_counts_as_income_until_the_next_visit() -> None:
    without, halved = need(group(84)), need(group(84, flow_kg_per_day=0.15))
    per_l = 1.32675 * 2 / 3 * 0.8 / 0.814
    assert without.volume_l - halved.volume_l == pytest.approx(24 * 1.5 / per_l, abs=24 * 0.19)


def test_yard_without_colonies_or_inspection_says_so() -> None:
    assert need().reason_code is ReasonCode.NO_INSPECTION
    assert need(group(colonies=0)).reason_code is ReasonCode.NO_COLONIES
    assert "nobody is there" in need(group(strength_frames=0.0)).reason
    stale = need(group(20, date=DAY - timedelta(61)))
    assert stale.reason_code is ReasonCode.NO_INSPECTION
    assert "61 days ago" in stale.reason


def test_old_inspection_is_a_caution() -> None:
    cautions = need(group(40, date=DAY - timedelta(22))).cautions
    assert any("22 days ago" in caution for caution in cautions)
    assert not any("judged" in caution for caution in need(group(40, date=DAY - timedelta(21))).cautions)


@pytest.mark.parametrize(
    ("feeding", "health", "fed"),
    [
        ({"communal": True}, Health.CLEAN, True),
        ({"communal": False}, Health.CLEAN, False),
        ({"communal": True, "robbing": "high"}, Health.CLEAN, False),
        ({"communal": True}, Health.WATCH, False),
    ],
)
def test_open_tub_only_by_setting_without_robbing_or_disease(
    feeding: dict[str, object], health: Health, fed: bool
) -> None:
    found = need(group(20, feeder_id="tub"), yard=samples.yard("Y1", health=health), **feeding)
    assert bool(found.doses) is fed
    if not fed:
        assert found.reason_code is ReasonCode.FEEDER_REFUSED


def test_open_tub_is_shared_by_its_colonies_and_handled_once() -> None:
    found = need(group(20, feeder_id="tub", feed_left_l=10.0), communal=True)
    assert found.volume_l <= 100.0
    assert found.volume_l == pytest.approx(100.0, abs=24 * 0.19)
    assert found.service_s == pytest.approx(600.0)


def test_dripping_feeder_under_robbing_is_filled_late_or_never_by_setting() -> None:
    late = need(group(20, feeder_id="tray"), robbing="high", late_from_s=16 * 3600)
    assert late.doses
    assert late.windows == (TimeWindow(16 * 3600, 24 * 3600),)
    never = need(group(20, feeder_id="tray"), robbing="high", spill_prone="never")
    assert never.reason_code is ReasonCode.FEEDER_REFUSED
    assert need(group(20, feeder_id="tray")).windows is None
    assert need(group(20), robbing="high").windows is None


def test_feeder_too_small_to_be_worth_a_visit_is_refused() -> None:
    assert need(group(20, feeder_id="thimble")).reason_code is ReasonCode.FEEDER_REFUSED


def test_below_7c_bees_take_nothing_even_where_the_setting_allows_feeding() -> None:
    found = need(group(20), temperature_c=6.5, min_feed_c=5.0)
    assert found.reason_code is ReasonCode.FEEDER_REFUSED
    assert "no liquid" in found.remedy


def test_feed_that_does_not_last_to_the_next_visit_is_a_caution() -> None:
    found = need(group(1, feeder_id="jar"), next_visit_days=10)
    assert any("come sooner" in caution for caution in found.cautions)


def test_cautions_name_no_drug_and_give_no_dose() -> None:
    said = " ".join(
        caution
        for health in Health
        for caution in need(
            group(20),
            yard=samples.yard("Y1", health=health),
            work=WorkSettings(quarantine_permit=True),
        ).cautions
    ).lower()
    for word in ("tetracycline", "tylosin", "lincomycin", "oxalic", "fumagil", " mg"):
        assert word not in said


def test_frame_feeder_cautions_speak_of_level_and_drowning() -> None:
    text = " ".join(need(group(20)).cautions)
    assert "not seen until the lid is off" in text
    assert "ladder or float" in text


def test_late_thin_winter_feed_in_the_north_is_cautioned() -> None:
    late = date(2025, 10, 20)
    text = " ".join(need(group(20, syrup_id="1:1", date=late), day=late).cautions)
    assert "past mid-October" in text
    assert "thin for winter" in text


def test_cold_and_hot_syrup_are_cautioned() -> None:
    cold = " ".join(need(group(20), temperature_c=11.0).cautions)
    assert "may crystallise" in cold
    operation = farm(group(20))
    for temperature, word in ((38.0, "shade the tank"), (45.0, "rises fast"), (8.0, "pumps slowly")):
        syrups = {**SYRUPS, "2:1": replace(SYRUPS["2:1"], temperature_c=temperature)}
        found = need_of_day(replace(operation, syrups=syrups), DAY)[0]
        assert any(word in caution for caution in found.cautions), word


def test_other_syrup_without_a_label_density_is_refused_with_a_remedy() -> None:
    syrups = {"2:1": Syrup("2:1", SyrupKind.OTHER, 0.7)}
    with pytest.raises(InputError, match="from the label"):
        need_of_day(replace(farm(group(20)), syrups=syrups), DAY)


def test_stores_are_judged_by_frames_or_by_scale_alike() -> None:
    by_frames = need(group(stores=Stores(honey_frames=8, frame=Frame.DEEP)))
    by_scale = need(group(stores=Stores(gross_kg=50 + 8 * 2.72, tare_kg=50)))
    assert by_frames.doses == by_scale.doses


def test_every_feeder_of_the_trade_gives_a_dose_within_its_capacity() -> None:
    for name, feeder in FEEDERS.items():
        if name in ("thimble", "tub"):
            continue
        assert 0 < need(group(20, feeder_id=name)).doses[0].each_l <= feeder.capacity_l


def test_starving_colonies_that_take_less_than_a_step_get_what_they_take() -> None:
    thin = group(2.0, feeder_id="jar", strength_frames=14.0, syrup_id="1:1")
    chilly = need(thin, temperature_c=10.07)
    assert chilly.starving
    assert 0 < chilly.doses[0].each_l < 0.05 * L_PER_US_GAL
    assert chilly.volume_l > 0
