package diagnose

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// with is the sheet with one reading changed.
func with(s reading.Sheet, at reading.Place, v float64) reading.Sheet {
	s.Readings = slices.Clone(s.Readings)
	for i := range s.Readings {
		if s.Readings[i].At == at {
			s.Readings[i].Value = v
		}
	}
	return s
}

// asked is the misfit of a sheet that nothing fits.
func asked(t *testing.T, s reading.Sheet) *Misfit {
	t.Helper()
	p := run(t, s, testkit.Fit(t, s.Machine.Refrigerant), Options{Misfit: true})
	if !p.nothingFits() || p.Misfit == nil {
		t.Fatalf("something fits: none of these %.2f, first %s, misfit %+v", p.PNone, p.Ranked[0].Name(), p.Misfit)
	}
	return p.Misfit
}

// TestMisfit_One: one reading of a sheet is spoiled by a stated amount; the reading found is that one, the band of the
// rest holds what stood there before, and without it the answer is that of the sound sheet. Source: definition.
func TestMisfit_One(t *testing.T) {
	sound := benchSheet()
	value := func(at reading.Place) float64 {
		r, ok := sound.Find(at)
		if !ok {
			t.Fatalf("%s is not read", at)
		}
		return r.Value
	}
	gauge := func(v float64) float64 { return v - float64(units.Atm) }
	first := run(t, sound, testkit.Fit(t, "R-404A"), Options{NoPairs: true}).Marginals[0].Fault
	for _, x := range []struct {
		name  string
		at    reading.Place
		shows float64
		fits  Reread // how is empty where its number has no other meaning
	}{
		{"12 psig typed as bar", reading.SuctionPressure, float64(units.Atm) + 12*units.Bar, Reread{How: FitsUnit, Was: "bar", Is: "psi"}},
		{
			"203 psig typed as kPa", reading.DischargePressure, float64(units.Atm) + gauge(value(reading.DischargePressure))*units.Kilo/units.Psi,
			Reread{How: FitsUnit, Was: "kPa", Is: "psi"},
		},
		{"a clamp on the liquid line 15 K off", reading.LiquidLine, value(reading.LiquidLine) + 15, Reread{}},
		{"outside air 15 K off", reading.Ambient, value(reading.Ambient) + 15, Reread{}},
		{"the box 15 K off", reading.BoxAir, value(reading.BoxAir) - 15, Reread{}},
	} {
		m := asked(t, with(sound, x.at, x.shows))
		if m.Rule != MisfitOne || len(m.Odd) != 1 || m.Odd[0].At != x.at {
			t.Errorf("%s: %s %+v", x.name, m.Rule, m.Odd)
			continue
		}
		o := m.Odd[0]
		if was := value(x.at); o.Shows != x.shows || was < o.Rest.Low || was > o.Rest.High || x.shows >= o.Rest.Low && x.shows <= o.Rest.High {
			t.Errorf("%s: shows %.4g, was %.4g, the rest expects %.4g to %.4g", x.name, o.Shows, was, o.Rest.Low, o.Rest.High)
		}
		if o.PNone > threshold.RestFits || o.Without[0].Fault != first {
			t.Errorf("%s: without it none of these %.3f, first %+v", x.name, o.PNone, o.Without)
		}
		var got Reread
		if len(o.Fits) > 0 {
			got = o.Fits[0]
		}
		if got.How != x.fits.How || got.Was != x.fits.Was || got.Is != x.fits.Is {
			t.Errorf("%s: its number fits as %+v, want %+v", x.name, got, x.fits)
		}
	}
}

// TestMisfit_All: pressures of another refrigerant at the same temperatures, and all pressures in another unit, are no
// single reading's fault. Source: definition; the two fits are published equations of state.
func TestMisfit_All(t *testing.T) {
	f, g := testkit.Fit(t, "R-404A"), testkit.Fit(t, "R-600a")
	both := func(to func(float64) float64) reading.Sheet {
		s := benchSheet()
		s.Readings = slices.Clone(s.Readings)
		for i := range s.Readings {
			if r := &s.Readings[i]; r.At.Kind() == reading.KindPressure {
				r.Value = to(r.Value)
			}
		}
		return s
	}
	for _, x := range []struct {
		name string
		s    reading.Sheet
		want Reread
	}{
		{
			"R-600a in a machine for R-404A", both(func(p float64) float64 { return g.DewT(f.DewP(p)) }),
			Reread{How: FitsRefrigerant, Was: "R-404A", Is: "R-600a"},
		},
		{
			"kPa typed as psi", both(func(p float64) float64 { return float64(units.Atm) + (p-float64(units.Atm))*units.Psi/units.Kilo }),
			Reread{How: FitsUnit, Was: "psi", Is: "kPa"},
		},
	} {
		m := asked(t, x.s)
		if m.Rule != MisfitAll || len(m.Odd) > 0 || len(m.All) == 0 {
			t.Errorf("%s: %+v", x.name, m)
			continue
		}
		a := m.All[0]
		if a.How != x.want.How || a.Was != x.want.Was || a.Is != x.want.Is || len(a.At) != 2 || a.Then[0].Fault != fault.LowCharge {
			t.Errorf("%s: %+v", x.name, a)
		}
	}
}

// TestMisfit_None: two readings spoiled by unlike amounts are not explained by leaving one out.
func TestMisfit_None(t *testing.T) {
	s := benchSheet()
	s = with(with(s, reading.LiquidLine, degF(93)+25), reading.Ambient, degF(73)+25)
	if m := asked(t, s); m.Rule != MisfitNone || len(m.Odd) > 0 || len(m.All) > 0 {
		t.Errorf("%+v", m)
	}
}

// TestMisfit_Some: a head that would condense far below the air outside: of the two alone nobody can say which is wrong.
// Source: definition.
func TestMisfit_Some(t *testing.T) {
	for _, head := range []float64{200, 225} {
		m := asked(t, freezer(1, 115, 24, head, reading.Clear))
		var at []reading.Place
		for _, o := range m.Odd {
			at = append(at, o.At)
		}
		if m.Rule != MisfitSome || !slices.Contains(at, reading.DischargePressure) || !slices.Contains(at, reading.Ambient) {
			t.Errorf("%g psig: %s: %v", head, m.Rule, at)
		}
	}
}

// TestMisfit_ChangesNothing: the search adds to an answer and changes nothing in it, is not made where something fits
// or nobody asked, and stops with its context.
func TestMisfit_ChangesNothing(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	odd := with(benchSheet(), reading.LiquidLine, degF(93)+25)
	plain, searched := run(t, odd, f, Options{}), run(t, odd, f, Options{Misfit: true})
	if plain.Misfit != nil || searched.Misfit == nil {
		t.Fatalf("not asked %+v, asked %+v", plain.Misfit, searched.Misfit)
	}
	searched.Misfit = nil
	if printed(plain) != printed(searched) {
		t.Error("the search changed the answer")
	}
	if p := run(t, benchSheet(), f, Options{Misfit: true}); p.Misfit != nil {
		t.Errorf("something fits: %+v", p.Misfit)
	}
	ctx, stop := context.WithTimeout(context.Background(), time.Nanosecond)
	defer stop()
	<-ctx.Done()
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := misfit(ctx, odd, f, &cat, plain.Used); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v", err)
	}
}
