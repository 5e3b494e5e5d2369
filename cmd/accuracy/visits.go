package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"

	"coldwright/diagnose/casebook"
	"coldwright/machine/reading"
)

// csv is the walk-in visits with their truth and its base rate, today's readings and, after "was_", those of the
// healthy visit before; pressures as dew temperatures, K.
func (r *run) csv() ([]byte, error) {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := w.Visits(r.seed, r.per, &r.cat, &r.fits)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	for i := range visits {
		v := &visits[i]
		s := v.Sheet(casebook.View{Set: casebook.Full, OnFile: true})
		sheets := []reading.Sheet{s, s.HealthyVisits[0]}
		if i == 0 {
			b.WriteString("truth,severe,rate,refrigerant")
			for k, s := range sheets {
				was := []string{"", "was_"}[k]
				for _, x := range s.Readings {
					b.WriteString("," + was + x.At.String())
				}
				b.WriteString("," + was + "glass," + was + "condenser_dirt," + was + "coil_ice")
			}
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "%s,%v,%.6f,%s", v.Truth(), v.Severe(), casebook.BaseRate(&r.cat, w.Kind, v.Truth()), s.Machine.Refrigerant)
		for _, s := range sheets {
			for _, x := range s.Readings {
				y := x.Value
				if x.At.Kind() == reading.KindPressure {
					y = v.Fit.DewP(y)
				}
				fmt.Fprintf(&b, ",%.3f", y)
			}
			fmt.Fprintf(&b, ",%s,%s,%s", s.Seen.Glass, s.Seen.CondenserDirt, s.Seen.CoilIce)
		}
		b.WriteString("\n")
	}
	return b.Bytes(), nil
}

func fingerprint(table []byte) string { return fmt.Sprintf("%x", sha256.Sum256(table))[:12] }
