//! The list of rules. A new rule is its file in this folder and its line here.

/// Makes the modules and the list out of one line a rule.
macro_rules! rules {
    ($($module:ident,)+) => {
        $(pub mod $module;)+

        /// All rules, in the order that `explain` lists them.
        pub static RULES: &[&super::Rule] = &[$(&super::Rule {
            file: include_str!(concat!("rules/", stringify!($module), ".rs")),
            ..$module::RULE
        }),+];
    };
}

rules! {
    unreadable_file,
    off_schema,
    repeated_key,
    unknown_reference,
    changed_by_yaml,
    bad_quantity,
    unreasoned_settlement,
    never_checked,
    open_session,
    synced_repository,
    unmatched_private,
    piece_in_two_places,
    two_in_one_place,
    fitted_nowhere,
    empty_place,
    wrong_number,
    wrong_hand,
    wrong_way_round,
    traits_clash,
    missing_companion,
    clashing_parts,
    mixed_set,
    parted_mates,
    off_policy,
    scrap_fitted,
    unproven_fitted,
    condition_against_reading,
    reading_without_basis,
    aged_out,
    uncleaned_after_failure,
    deposit_at_risk,
    return_closing,
    missing_provenance,
    identity_disagrees,
    wrong_hardware,
    too_long_for_hole,
    short_engagement,
    mixed_standards,
    torque_figures_disagree,
    torque_implausible,
    wrench_out_of_range,
    adapter_uncorrected,
    lubrication_differs,
    critical_downgraded,
    embrittlement_risk,
    used_once_already,
    spent_at_mock_up,
    lost_locking,
    torque_unsourced,
    steps_out_of_order,
    wrench_overdue,
    disturbed_since,
    hole_unfit,
    critical_unchecked,
    checker_did_it,
    vague_repair,
    decided_twice,
    photo_missing,
    photo_unused,
    photo_heavy,
    photo_tells_where,
}
