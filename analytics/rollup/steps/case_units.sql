-- case_units: what limits and rules ask of the unit of each case.
--
-- Grain    one case; NULL where the unit or the fact is not known
-- Key      case_id
-- Reads    cases, store.units, model_rules
-- Feeds    known_readings, label_outcomes, label_support, check_counts
--
-- Brought together once: the cases are judged part by part.
--
-- Parameters: none

CREATE TEMP TABLE case_units AS
SELECT
    cases.case_id,
    unit.connector,
    unit.phases,
    unit.supply_system,
    unit.ground_fault_device,
    unit.cable_length_m,
    unit.conductor_area_mm2,
    unit.earth_area_mm2,
    unit.rated_current_a,
    model_rules.control_supply_v,
    model_rules.coil_ohm,
    model_rules.contactor_open_ohm
FROM cases
LEFT JOIN store.units AS unit ON cases.serial = unit.serial
LEFT JOIN model_rules ON unit.model = model_rules.model
ORDER BY cases.case_id;
