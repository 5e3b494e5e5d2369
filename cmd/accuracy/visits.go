package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"

	"coldwright/diagnose/casebook"
	"coldwright/machine/reading"
	"coldwright/units"
)

// csv is the walk-in visits with their truth and its base rate, today's readings and, after "was_", those of the
// healthy visit before; pressures as dew temperatures, K.
func (r *run) csv() ([]byte, error) {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := w.Visits(r.seed, r.per, &r.cat, &r.fits)
	if err != nil {
		return nil, err
	}
	return r.table(w.Kind, visits, "", nil), nil
}

// worldCSV is the same of a world's visits, drawn as [run.worldScores] draws them, after which world, seed and number
// they are of and what the plate says: TD, split and superheat, K, 0 where it says nothing.
func (r *run) worldCSV(w casebook.World, n int) ([]byte, error) {
	visits, err := r.worldVisits(w, n)
	if err != nil {
		return nil, err
	}
	return r.table(w.Kind, visits, "world,seed,n,told_td,told_split,told_superheat,", func(m *reading.Machine) string {
		told := func(x *units.TempDiff) float64 {
			if x == nil {
				return 0
			}
			return float64(*x)
		}
		d := &m.Design
		return fmt.Sprintf("%q,%d,%d,%.3f,%.3f,%.3f,", worldName(w), r.seed, n, told(d.TD), told(d.Split), told(d.Superheat))
	}), nil
}

// table writes visits, each line after what first says of its machine.
func (r *run) table(k casebook.Kind, visits []casebook.Visit, head string, first func(*reading.Machine) string) []byte {
	var b bytes.Buffer
	for i := range visits {
		v := &visits[i]
		s := v.Sheet(casebook.View{Set: casebook.Full, OnFile: true})
		sheets := []reading.Sheet{s, s.HealthyVisits[0]}
		if i == 0 {
			b.WriteString(head + "truth,severe,rate,refrigerant")
			for k, s := range sheets {
				was := []string{"", "was_"}[k]
				for _, x := range s.Readings {
					b.WriteString("," + was + x.At.String())
				}
				b.WriteString("," + was + "glass," + was + "condenser_dirt," + was + "coil_ice")
			}
			b.WriteString("\n")
		}
		if first != nil {
			b.WriteString(first(&s.Machine))
		}
		fmt.Fprintf(&b, "%s,%v,%.6f,%s", v.Truth(), v.Severe(), casebook.BaseRate(&r.cat, k, v.Truth()), s.Machine.Refrigerant)
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
	return b.Bytes()
}

func fingerprint(table []byte) string { return fmt.Sprintf("%x", sha256.Sum256(table))[:12] }
