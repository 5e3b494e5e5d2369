package data

import (
	"errors"
	"testing"
)

// Every file loads under the strict schema, cites a source and states its validity.
func TestAllFiles_Load(t *testing.T) {
	rows := 0
	for _, n := range Fluids() {
		f, err := LoadFluid(n)
		if err != nil {
			t.Errorf("%s: %v", n, err)
			continue
		}
		if f.Designation != n {
			t.Errorf("file %s holds %s", n, f.Designation)
		}
		if _, err := f.Ancillaries(); err != nil {
			t.Error(err)
		}
		blocks, err := FluidChecks(f)
		if err != nil {
			t.Errorf("%s: %v", n, err)
		}
		own := 0
		for _, b := range blocks {
			own += len(b.Rows)
			if b.Source.Cite == "" {
				t.Errorf("%s: check values without source", n)
			}
		}
		if own == 0 {
			t.Errorf("%s has no check values", n)
		}
		rows += own
	}
	if got := len(Fluids()); got != 62 {
		t.Errorf("%d pure fluids, want 62", got)
	}
	if rows < 3200 {
		t.Errorf("%d check values, want at least 3200", rows)
	}
	for _, n := range list("pseudopure") {
		if _, err := LoadPseudoPure(n); err != nil {
			t.Errorf("%s: %v", n, err)
		}
	}
	for _, n := range Blends() {
		b, err := LoadBlend(n)
		if err != nil {
			t.Errorf("%s: %v", n, err)
			continue
		}
		for _, c := range b.Components {
			if _, err := LoadFluid(c.Designation); err != nil {
				t.Errorf("%s: %s: %v", n, c.Designation, err)
			}
		}
	}
	if got := len(Blends()); got != 144 {
		t.Errorf("%d blends, want 144", got)
	}
	for _, n := range list("departure") {
		if d, err := LoadDeparture(n); err != nil || len(d.Source) == 0 {
			t.Errorf("departure %s: %v", n, err)
		}
	}
	if rows, err := MixtureChecks(); err != nil || len(rows) != 26 {
		t.Errorf("%d mixture checks (%v), want 26", len(rows), err)
	}
	for _, n := range list("pair") {
		p := new(Pair)
		if err := read("pair/"+n+".json", p); err != nil || p.Basis == "" || len(p.Source) == 0 {
			t.Errorf("pair %s: %v", n, err)
		}
	}
}

func TestLoadPair_SwappedInvertsBeta(t *testing.T) {
	a, swapped, err := LoadPair("R-11", "R-12")
	if err != nil || swapped {
		t.Fatalf("R-11/R-12: %v, swapped %v", err, swapped)
	}
	b, swapped, err := LoadPair("R-12", "R-11")
	if err != nil || !swapped || b.BetaT != 1/a.BetaT || b.GammaT != a.GammaT {
		t.Errorf("swapped pair: beta %g gamma %g, want %g, %g (%v)", b.BetaT, b.GammaT, 1/a.BetaT, a.GammaT, err)
	}
}

func TestLoad_Absent(t *testing.T) {
	if _, err := LoadFluid("R-0"); !errors.Is(err, ErrAbsent) {
		t.Errorf("got %v, want ErrAbsent", err)
	}
}
