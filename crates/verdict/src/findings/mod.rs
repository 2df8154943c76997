//! Findings: one file each, with a page each, registered in [`TABLE`].
//!
//! A finding looks at a board whose channels are judged and says what is to
//! be said. Equal ones are grouped afterwards, so a finding need not.

mod accuracy_not_met;
mod accuracy_thin;
mod accuracy_undecided;
mod alternating_partial_periods;
mod averaging_no_dither;
mod bus_address;
mod bus_address_clash;
mod bus_cable_delay;
mod bus_capacitance;
mod bus_clock;
mod bus_clock_error;
mod bus_no_return;
mod bus_no_window;
mod bus_not_released;
mod bus_overloaded;
mod bus_polled_too_fast;
mod bus_pull_up_missing;
mod bus_pull_up_strong;
mod bus_pull_up_weak;
mod bus_repeater_offset;
mod bus_select;
mod bus_shared_cache;
mod bus_spi_mode;
mod calibration_does_not_transfer;
mod causes;
mod channel_unmodelled;
mod claim_cause;
mod claim_figure;
mod clamp_conducts;
mod clamp_into_rail;
pub(crate) mod converter_code_range;
mod converter_input_leakage;
mod converter_input_loading;
mod converter_input_range;
mod converter_source_resistance;
mod fault_damage;
mod fault_not_detected;
mod fault_over_voltage;
mod fault_plausible;
mod figure_assumed_exact;
mod figure_typical_only;
mod figure_unsourced;
mod firmware_assumed_value;
mod firmware_conversion_differs;
mod firmware_half_code;
mod firmware_overflow;
mod firmware_straight_line;
mod firmware_truncation;
mod hazard_asphyxiating_gas;
mod hazard_explosive_gas;
mod hazard_heater;
mod hazard_life_safety;
mod hazard_lithium_cells;
mod hazard_mains;
mod hazard_motor;
mod hazard_open_transformer;
mod hazard_patient;
mod hazard_stored_energy;
mod hazard_voltage;
mod heat_component;
mod heat_junction;
mod heat_unknown;
mod interference_alias;
mod interference_mains_not_rejected;
mod interference_zero_beat;
mod link_level_high;
mod link_level_low;
mod link_levels_assumed;
mod link_over_maximum;
mod link_rated_only;
mod link_too_slow;
mod link_translator_gate;
mod link_translator_pull;
mod link_translator_rise;
mod link_two_drivers;
mod link_unpowered;
mod loop_bands;
mod loop_headroom;
mod pin_direction;
mod pin_double_use;
mod pin_input_only;
mod pin_level;
mod pin_no_function;
mod pin_none_left;
mod pin_not_exposed;
mod pin_pull_left_on;
mod pin_radio_shared;
mod pin_strapping;
mod pin_unlisted;
mod pulse_timer_overflow;
mod rail_battery_life;
mod rail_decoupling;
mod rail_droop;
mod rail_inrush;
mod rail_load_unknown;
mod rail_not_settled;
mod rail_over_limit;
mod rate_awake_too_short;
mod rate_not_met;
mod reference_above_maximum;
mod reference_above_supply;
mod reference_below_minimum;
mod reference_few_codes;
mod reference_not_settled;
mod reference_overloaded;
mod reference_pin_shared;
mod reference_span_exceeds;
mod reference_starved;
mod resolution_noise;
mod resolution_not_met;
mod return_shift;
mod sampling_assumed;
mod sampling_unsettled;
mod scan_overrun;
mod scan_setting;
mod sensor_fixed_auxiliary;
mod sensor_outside_law_range;
mod sensor_own_power;
mod sensor_self_heating;
mod sensor_warmed;
mod stage_capacitive_load;
mod stage_gain_range;
mod stage_inner_range;
mod stage_input_range;
mod stage_load;
mod stage_loads_source;
mod stage_output_current;
mod stage_output_range;
mod stage_pull_span;
mod stage_rating;
mod stage_resistor_drift;
mod supply_device_range;
mod supply_dropout;
mod supply_input_rating;
mod word_too_coarse;
mod word_too_small;

use board::Board;
use chain::time::Timing;
use finding::{Finding, Kind, Sources};
use rayon::prelude::*;

use crate::firmware::Firmware;
use crate::interference::Heard;
use crate::judge::Judged;

/// What findings look at.
pub(crate) struct Scene<'a, 'b> {
    pub board: &'a Board,
    pub judged: &'b [Judged<'a>],
    /// Links, pins, rails, heat, returns and faults.
    pub system: &'b system::Analysis,
    /// What sampling does to the readings.
    pub timing: &'b Timing,
    /// The texts the board was read from.
    pub sources: &'b Sources,
    /// The firmware's conversions, one for each channel that states one.
    pub firmware: Vec<Option<Firmware>>,
    /// What disturbs the channels that something disturbs.
    pub heard: Vec<Option<Heard>>,
}

/// A kind of finding and what finds it.
pub(crate) struct Entry {
    pub kind: Kind,
    pub look: fn(&Kind, &Scene<'_, '_>, &mut Vec<Finding>),
}

/// Every finding there is, by id.
static TABLE: &[Entry] = &[
    accuracy_not_met::ENTRY,
    accuracy_thin::ENTRY,
    accuracy_undecided::ENTRY,
    alternating_partial_periods::ENTRY,
    averaging_no_dither::ENTRY,
    bus_address::ENTRY,
    bus_address_clash::ENTRY,
    bus_cable_delay::ENTRY,
    bus_capacitance::ENTRY,
    bus_clock::ENTRY,
    bus_clock_error::ENTRY,
    bus_no_return::ENTRY,
    bus_no_window::ENTRY,
    bus_not_released::ENTRY,
    bus_overloaded::ENTRY,
    bus_polled_too_fast::ENTRY,
    bus_pull_up_missing::ENTRY,
    bus_pull_up_strong::ENTRY,
    bus_pull_up_weak::ENTRY,
    bus_repeater_offset::ENTRY,
    bus_select::ENTRY,
    bus_shared_cache::ENTRY,
    bus_spi_mode::ENTRY,
    calibration_does_not_transfer::ENTRY,
    channel_unmodelled::ENTRY,
    claim_cause::ENTRY,
    claim_figure::ENTRY,
    clamp_conducts::ENTRY,
    clamp_into_rail::ENTRY,
    converter_code_range::ENTRY,
    converter_input_leakage::ENTRY,
    converter_input_loading::ENTRY,
    converter_input_range::ENTRY,
    converter_source_resistance::ENTRY,
    fault_damage::ENTRY,
    fault_not_detected::ENTRY,
    fault_over_voltage::ENTRY,
    fault_plausible::ENTRY,
    figure_assumed_exact::ENTRY,
    figure_typical_only::ENTRY,
    figure_unsourced::ENTRY,
    firmware_assumed_value::ENTRY,
    firmware_conversion_differs::ENTRY,
    firmware_half_code::ENTRY,
    firmware_overflow::ENTRY,
    firmware_straight_line::ENTRY,
    firmware_truncation::ENTRY,
    hazard_asphyxiating_gas::ENTRY,
    hazard_explosive_gas::ENTRY,
    hazard_heater::ENTRY,
    hazard_life_safety::ENTRY,
    hazard_lithium_cells::ENTRY,
    hazard_mains::ENTRY,
    hazard_motor::ENTRY,
    hazard_open_transformer::ENTRY,
    hazard_patient::ENTRY,
    hazard_stored_energy::ENTRY,
    hazard_voltage::ENTRY,
    heat_component::ENTRY,
    heat_junction::ENTRY,
    heat_unknown::ENTRY,
    interference_alias::ENTRY,
    interference_mains_not_rejected::ENTRY,
    interference_zero_beat::ENTRY,
    link_level_high::ENTRY,
    link_level_low::ENTRY,
    link_levels_assumed::ENTRY,
    link_over_maximum::ENTRY,
    link_rated_only::ENTRY,
    link_too_slow::ENTRY,
    link_translator_gate::ENTRY,
    link_translator_pull::ENTRY,
    link_translator_rise::ENTRY,
    link_two_drivers::ENTRY,
    link_unpowered::ENTRY,
    loop_bands::ENTRY,
    loop_headroom::ENTRY,
    pin_direction::ENTRY,
    pin_double_use::ENTRY,
    pin_input_only::ENTRY,
    pin_level::ENTRY,
    pin_no_function::ENTRY,
    pin_none_left::ENTRY,
    pin_not_exposed::ENTRY,
    pin_pull_left_on::ENTRY,
    pin_radio_shared::ENTRY,
    pin_strapping::ENTRY,
    pin_unlisted::ENTRY,
    pulse_timer_overflow::ENTRY,
    rail_battery_life::ENTRY,
    rail_decoupling::ENTRY,
    rail_droop::ENTRY,
    rail_inrush::ENTRY,
    rail_load_unknown::ENTRY,
    rail_not_settled::ENTRY,
    rail_over_limit::ENTRY,
    rate_awake_too_short::ENTRY,
    rate_not_met::ENTRY,
    reference_above_maximum::ENTRY,
    reference_above_supply::ENTRY,
    reference_below_minimum::ENTRY,
    reference_few_codes::ENTRY,
    reference_not_settled::ENTRY,
    reference_overloaded::ENTRY,
    reference_pin_shared::ENTRY,
    reference_span_exceeds::ENTRY,
    reference_starved::ENTRY,
    resolution_noise::ENTRY,
    resolution_not_met::ENTRY,
    return_shift::ENTRY,
    sampling_assumed::ENTRY,
    sampling_unsettled::ENTRY,
    scan_overrun::ENTRY,
    scan_setting::ENTRY,
    sensor_fixed_auxiliary::ENTRY,
    sensor_outside_law_range::ENTRY,
    sensor_own_power::ENTRY,
    sensor_self_heating::ENTRY,
    sensor_warmed::ENTRY,
    stage_capacitive_load::ENTRY,
    stage_gain_range::ENTRY,
    stage_inner_range::ENTRY,
    stage_input_range::ENTRY,
    stage_load::ENTRY,
    stage_loads_source::ENTRY,
    stage_output_current::ENTRY,
    stage_output_range::ENTRY,
    stage_pull_span::ENTRY,
    stage_rating::ENTRY,
    stage_resistor_drift::ENTRY,
    supply_device_range::ENTRY,
    supply_dropout::ENTRY,
    supply_input_rating::ENTRY,
    word_too_coarse::ENTRY,
    word_too_small::ENTRY,
];

/// Every kind of finding, by id.
pub fn kinds() -> impl Iterator<Item = &'static Kind> {
    TABLE.iter().map(|e| &e.kind)
}

/// What is found of faults alone, without judging a channel.
pub(crate) fn of_faults(
    board: &Board,
    system: &system::Analysis,
    timing: &Timing,
    sources: &Sources,
) -> Vec<Finding> {
    let scene = Scene {
        board,
        judged: &[],
        system,
        timing,
        sources,
        firmware: Vec::new(),
        heard: Vec::new(),
    };
    let mut found = Vec::new();
    for entry in TABLE.iter().filter(|e| e.kind.id.starts_with("fault.")) {
        (entry.look)(&entry.kind, &scene, &mut found);
    }
    found
}

/// Everything found.
pub(crate) fn look(
    board: &Board,
    judged: &[Judged<'_>],
    timing: &Timing,
    sources: &Sources,
    system: &system::Analysis,
) -> Vec<Finding> {
    let scene = Scene {
        board,
        judged,
        system,
        timing,
        sources,
        firmware: judged
            .iter()
            .map(|j| j.study.as_ref().and_then(Firmware::of))
            .collect(),
        heard: judged
            .par_iter()
            .map(|j| j.study.as_ref().and_then(Heard::of))
            .collect(),
    };
    // Each kind looks by itself; what they find is kept in the table's order.
    let found: Vec<Vec<Finding>> = TABLE
        .par_iter()
        .map(|entry| {
            let mut found = Vec::new();
            (entry.look)(&entry.kind, &scene, &mut found);
            found
        })
        .collect();
    causes::settled(found.concat(), judged)
}

/// What is to be said of a board whose ids begin with one of `about`, without
/// judging its channels.
pub(crate) fn about(
    board: &Board,
    system: &system::Analysis,
    sources: &Sources,
    about: &[&str],
) -> Vec<report::Finding> {
    let timing = Timing::default();
    let scene = Scene {
        board,
        judged: &[],
        system,
        timing: &timing,
        sources,
        firmware: Vec::new(),
        heard: Vec::new(),
    };
    let mut found = Vec::new();
    for entry in TABLE {
        if about.iter().any(|a| entry.kind.id.starts_with(a)) {
            (entry.look)(&entry.kind, &scene, &mut found);
        }
    }
    crate::words::grouped(&found, sources)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_an_id_of_its_own_and_a_page_with_all_sections() {
        let ids: Vec<&str> = kinds().map(|k| k.id).collect();
        let mut sorted = ids.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(ids, sorted, "sorted by id, none twice");
        for k in kinds() {
            let mut from = 0;
            for section in [
                "## What it means",
                "## Why it matters",
                "## How it is computed",
                "## What to do",
            ] {
                let at = k.explanation[from..]
                    .find(section)
                    .unwrap_or_else(|| panic!("{}: no `{section}` in its place", k.id));
                let body = k.explanation[from + at + section.len()..]
                    .split("## ")
                    .next()
                    .unwrap();
                assert!(body.trim().len() > 40, "{}: {section} says nothing", k.id);
                from += at + section.len();
            }
            assert!(
                k.explanation.starts_with(&format!("# {}\n", k.title)),
                "{}: headed by its title",
                k.id
            );
        }
    }

    #[test]
    fn causes_name_kinds_that_there_are() {
        for id in causes::ids() {
            assert!(kinds().any(|k| k.id == id), "{id}");
        }
    }

    #[test]
    fn every_page_and_every_file_is_registered() {
        let here = concat!(env!("CARGO_MANIFEST_DIR"), "/src/findings");
        let names = |folder: &str, end: &str| -> Vec<String> {
            let mut list: Vec<String> = std::fs::read_dir(folder)
                .unwrap()
                .map(|e| e.unwrap().file_name().into_string().unwrap())
                .filter_map(|n| n.strip_suffix(end).map(str::to_owned))
                .collect();
            list.sort();
            list
        };
        let ids: Vec<String> = kinds().map(|k| k.id.to_owned()).collect();
        assert_eq!(names(&format!("{here}/pages"), ".md"), ids);
    }
}
