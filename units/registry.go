package units

// Quantity is a row of the registry that feeds form labels, column heads, plausibility checks and documentation.
type Quantity struct {
	Key      string // as in columns and JSON, with the unit at the end
	Symbol   string
	SI       string
	Units    []string // what a person may write
	Min, Max float64  // sensible range in SI; outside it a value is refused as a slip
	Text     string
}

// Registry lists the quantities. Ranges are common practice, no source: wide enough for any machine this tool is for.
func Registry() []Quantity {
	t, d, p := spoken(temperatures), spoken(differences), spoken(pressures)
	return []Quantity{
		{"box_air", "T", "K", t, 200, 330, "air entering the evaporator coil"},
		{"ambient", "T", "K", t, 220, 335, "air entering the condenser"},
		{"line_temperature", "T", "K", t, 190, 450, "temperature of a line"},
		{"suction_pressure", "p", "Pa", p, 5 * Kilo, 6 * Kilo * Kilo, "pressure at the compressor inlet"},
		{"discharge_pressure", "p", "Pa", p, 20 * Kilo, 16 * Kilo * Kilo, "pressure at the compressor outlet"},
		{"difference", "ΔT", "K", d, -100, 200, "difference of temperatures"},
		{"mass", "m", "kg", spoken(masses), 0, 1e4, "mass of refrigerant"},
		{"current", "I", "A", spoken(currents), 0, 2000, "running current"},
		{"power", "P", "W", spoken(powers), 0, 1e6, "electrical power"},
		{"altitude", "h", "m", spoken(lengths), -500, 9000, "height of the site above the sea"},
		{"minutes", "t", "min", spoken(durations), 0, 1e5, "time"},
	}
}

func spoken(list []unit) []string {
	var out []string
	for _, u := range list {
		if u.names[0] != "" {
			out = append(out, u.names[0])
		}
	}
	return out
}
