package cli

import (
	"strings"

	"coldwright/practice"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
)

// helpNames are the lists that help texts name as ${name}.
func helpNames() map[string]string {
	var profiles, limits []string
	for _, p := range vacuum.Profiles() {
		profiles = append(profiles, p.Key)
	}
	for _, l := range templog.FoodLimits() {
		limits = append(limits, l.Key)
	}
	return map[string]string{
		"profiles":     strings.Join(profiles, ", "),
		"limits":       strings.Join(limits, ", "),
		"compared":     compared,
		"benches":      strings.Join(practice.Machines(), ", "),
		"hold_columns": "minute (or time), pressure_psig or pressure_kpa, gas_f or gas_c",
		"rise_columns": "minute (or time) and micron or pa",
		"states": "pressure_kpa (absolute), temperature_c, enthalpy_kj_kg, entropy_kj_kg_k, vapour_mass_fraction, " +
			"density_kg_m3",
	}
}
