package wire

import "coldwright/practice"

// Practice is the answer of `practice`: the exercise, what was read and how it ended. Readings in SI: Pa absolute, K or
// A by the place.
func Practice(e *practice.Exercise, read []string, r *practice.Result) any {
	type against struct {
		At      string  `json:"at"`
		Read    float64 `json:"read_si"`
		U       float64 `json:"u_si"`
		Healthy float64 `json:"healthy_si"`
		Truth   float64 `json:"truth_si"`
	}
	out := struct {
		Seed        uint64   `json:"seed"`
		Level       int      `json:"level"`
		Machine     string   `json:"machine"`
		Refrigerant string   `json:"refrigerant"`
		Read        []string `json:"read"`
		*practice.Result
		Ladder []against `json:"ladder"`
	}{Seed: e.Seed, Level: e.Level, Machine: e.Key, Refrigerant: e.Plate.Refrigerant, Read: read, Result: r}
	for _, a := range r.Ladder {
		out.Ladder = append(out.Ladder, against{a.At.String(), a.Read, a.U, a.Healthy, a.Truth})
	}
	return out
}
