"""Keys of [limits]: a row of reference/limits.toml each, which holds value, label, source and text."""

from __future__ import annotations

from typing import Any

from wheelcalc.build.section import Key, Section
from wheelcalc.wheel.findings import ORDER, Level

# Ranges and defaults: C, common practice of the trade, unless another source stands beside the key. A range only catches
# slips of unit or decimal point; it is no verdict on a part.


def limit(least: float = 0) -> Any:
    """Declare a limit; at nothing most mean "always" or "never", and a few leave no wheel to be computed."""
    return Key("number", "", least, 1e6, needed=True)


class Limits(Section):
    """[limits]."""

    nipple_tilt_note: float = limit()
    nipple_tilt_caution: float = limit()
    nipple_tilt_stop: float = limit()
    nipple_bend: float = limit()
    crosses_per_hole: float = limit()
    spoke_angle_caution: float = limit()
    spoke_angle_stop: float = limit()
    flange_hole_over_wire: float = limit()
    rim_hole_over_nipple: float = limit()
    erd_readings_differ: float = limit()
    erd_under_seat_caution: float = limit()
    erd_under_seat_stop: float = limit()
    erd_small_caution: float = limit()
    locknut_to_flange_least: float = limit()
    sides_swapped_stop: float = limit()
    pcd_least: float = limit()
    pcd_driven_least: float = limit()
    end_short_stop_aluminium: float = limit()
    low_chance: float = limit()
    flange_distance_differs: float = limit()
    head_over_wire: float = limit()
    interlace_bend: float = limit()
    turning_left_over: float = limit()
    long_wave: float = limit()
    long_nipple: float = limit()
    chainline_fixed_note: float = limit()
    chainline_fixed_caution: float = limit()
    chainline_fixed_stop: float = limit()
    chainline_single_caution: float = limit()
    chainline_derailleur_caution: float = limit()
    chainline_pair_caution: float = limit()
    chain_angle_caution: float = limit()
    crossed_cogs: float = limit()
    cog_to_spokes_stop: float = limit()
    cog_to_spokes_caution: float = limit()
    chain_to_dropout_stop: float = limit()
    width_moves_length: float = limit()
    set_far_stop: float = limit()
    spread_stop: float = limit()
    shell_spacers_stop: float = limit()
    spacers_most: float = limit()
    evenness_caution: float = limit()
    axle_over_end_stop: float = limit()
    axle_under_end_caution: float = limit()
    stub_of_dropout_stop: float = limit()
    nut_beyond_end_stop: float = limit()
    tyre_gap_stop: float = limit()
    tyre_gap_caution: float = limit()
    rotor_gap_stop: float = limit()
    rotor_gap_caution: float = limit()
    rotor_place_caution: float = limit()
    pad_to_tyre_stop: float = limit()
    head_angle_change_caution: float = limit()
    trail_change_caution: float = limit()
    bracket_change_caution: float = limit()
    fork_longer_caution: float = limit()
    pedal_lean_caution: float = limit()
    toe_gap_caution: float = limit()
    brake_wall_stop: float = limit()
    brake_wall_caution: float = limit()
    out_of_round_caution: float = limit()
    out_of_round_stop: float = limit()
    flat_gap_caution: float = limit()
    flat_gap_stop: float = limit()
    uneven_caution: float = limit()
    spoke_end_strength: float = limit(least=100)
    spoke_middle_strength: float = limit(least=100)
    spoke_strength_share: float = limit(least=0.01)
    buckling_share: float = limit(least=0.01)
    rim_bent_caution: float = limit()
    misread_caution: float = limit()
    lateral_reading: float = limit()
    radial_reading: float = limit()
    tension_reading: float = limit(least=1)
    broken_spokes_stop: float = limit()
    broken_gap_stop: float = limit()
    lowest_gear: float = limit()
    motor_torque: float = limit()
    wind_up: float = limit()
    flange_stress: float = limit()
    braking_share: float = limit()
    slack_load_caution: float = limit()

    def levels(self, stem: str) -> dict[Level, float]:
        """Return level -> limit of those that a stem has, such as "tyre_gap" with tyre_gap_stop and tyre_gap_caution."""
        return {level: self.named(f"{stem}_{level}") for level in ORDER if hasattr(type(self), f"{stem}_{level}")}

    def named(self, name: str) -> float:
        """Return the limit of a name that is put together.

        Raises
        ------
        InputError
            If it has no value.
        """
        return float(getattr(self, name))
