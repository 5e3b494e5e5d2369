package text

import (
	"strings"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict"
)

// TestMisfit_Said: whatever the search comes to, every language has a whole sentence with the numbers in it, in the
// units asked for.
func TestMisfit_Said(t *testing.T) {
	then := []diagnose.Marginal{{Fault: fault.LowCharge, Probability: 0.87}, {Fault: fault.Healthy, Probability: 0.06}}
	odd := func(at reading.Place, shows, lo, hi float64, fits ...diagnose.Reread) diagnose.Odd {
		return diagnose.Odd{At: at, Shows: shows, Rest: diagnose.Band{Low: lo, Mid: (lo + hi) / 2, High: hi}, Without: then, Fits: fits}
	}
	head := func(how string) diagnose.Odd {
		return odd(reading.DischargePressure, 3e5, 14e5, 16e5, diagnose.Reread{How: how, Was: "kPa", Is: "psi"})
	}
	box := func(how string) diagnose.Odd {
		return odd(reading.BoxAir, 291, 254, 257, diagnose.Reread{How: how, Was: "°F", Is: "°C"})
	}
	both := func(how string, at ...reading.Place) diagnose.Misfit {
		return diagnose.Misfit{
			Rule: diagnose.MisfitAll,
			All:  []diagnose.Reread{{How: how, Was: "R-404A", Is: "R-600a", At: at, Then: then}},
		}
	}
	pressures := []reading.Place{reading.SuctionPressure, reading.DischargePressure}
	list := map[string]diagnose.Misfit{
		"amps": {Rule: diagnose.MisfitOne, Odd: []diagnose.Odd{odd(reading.Amps, 9, 3, 4)}},
		"line": {Rule: diagnose.MisfitOne, Odd: []diagnose.Odd{odd(reading.LiquidLine, 322, 302, 308)}},
		"two": {Rule: diagnose.MisfitSome, Odd: []diagnose.Odd{
			head(diagnose.FitsUnit), odd(reading.Ambient, 319, 288, 300),
		}, All: both(diagnose.FitsRefrigerant, pressures...).All},
		"none":              {Rule: diagnose.MisfitNone},
		"gas":               both(diagnose.FitsRefrigerant, pressures...),
		"all minus":         both(diagnose.FitsMinus, reading.BoxAir, reading.Ambient),
		"all in other unit": both(diagnose.FitsUnit, reading.BoxAir, reading.Ambient),
	}
	for _, how := range []string{diagnose.FitsUnit, diagnose.FitsAbsolute, diagnose.FitsGauge} {
		list["head "+how] = diagnose.Misfit{Rule: diagnose.MisfitOne, Odd: []diagnose.Odd{head(how)}}
		list["all "+how] = both(how, pressures...)
	}
	list["box"] = diagnose.Misfit{Rule: diagnose.MisfitOne, Odd: []diagnose.Odd{box(diagnose.FitsMinus)}}
	for name, m := range list {
		for _, l := range Languages() {
			s := Misfit(&verdict.Judgement{Misfit: &m}, units.Metric(), units.Atm, l)
			if len(s) < 80 || strings.ContainsAny(s, "{}") || strings.Contains(s, "  ") || !strings.HasSuffix(s, ".") {
				t.Errorf("%s, %s: %q", l, name, s)
			}
			if len(m.Odd)+len(m.All) > 0 && !strings.Contains(s, Fault(fault.LowCharge.String(), l).Noun+" 87") {
				t.Errorf("%s, %s: no ranking in %q", l, name, s)
			}
		}
	}
	if s := Misfit(&verdict.Judgement{}, units.US(), units.Atm, English); s != "" {
		t.Errorf("something fits: %q", s)
	}
	m := list["line"]
	got := Misfit(&verdict.Judgement{Misfit: &m}, units.Metric(), units.Atm, English)
	want := "Liquid line shows 49 °C, and the other readings expect 29 to 35 °C. It cannot belong to this machine as it stands. " +
		"Without it: a shortage of refrigerant 87 in 100, nothing wrong 6 in 100. " +
		"Check its unit, and that the probe sits where it should and touches, and read it again."
	if got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}
