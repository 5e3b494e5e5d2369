package diagnose

import "coldwright/machine/reading"

// used lists the places whose readings the answer rests on: those held against the model, and the air of the box and
// outside that it is solved at.
func (q *problem) used() []reading.Place {
	in := map[reading.Place]bool{}
	for _, o := range q.e.obs {
		in[o.at] = true
	}
	for _, either := range [][]reading.Place{{reading.BoxAir, reading.BoxDisplay}, {reading.Ambient, reading.CondenserFaceAir}} {
		for _, at := range either {
			if _, ok := q.sheet.Find(at); ok {
				in[at] = true
				break
			}
		}
	}
	if in[reading.DrierOut] {
		_, in[reading.DrierIn] = q.sheet.Find(reading.DrierIn)
	}
	for _, at := range []reading.Place{reading.BoxWetBulb, reading.BoxHumidity} {
		if r, ok := q.sheet.Find(at); ok && q.wets() {
			_, in[at] = q.e.moist(r, float64(q.m.AmbientPressure))
		}
	}
	var out []reading.Place
	for _, at := range reading.Places() {
		if in[at] {
			out = append(out, at)
		}
	}
	return out
}
