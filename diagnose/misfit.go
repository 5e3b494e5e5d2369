package diagnose

import (
	"cmp"
	"context"
	"math"
	"slices"

	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// MisfitRule says what the search for the reading that does not belong came to.
type MisfitRule string

// The rules.
const (
	MisfitOne  MisfitRule = "one_reading"       // without it the rest fits, and without no other as well
	MisfitSome MisfitRule = "one_of_several"    // without any one of these the rest fits about as well
	MisfitAll  MisfitRule = "all_of_a_kind"     // all pressures, or all temperatures, fit in another meaning
	MisfitNone MisfitRule = "no_single_reading" // none of these explains it
)

// MisfitRules lists them.
func MisfitRules() []MisfitRule { return []MisfitRule{MisfitOne, MisfitSome, MisfitAll, MisfitNone} }

// Misfit says, of readings that no cause explains together, which of them cannot belong to this machine.
type Misfit struct {
	Rule MisfitRule
	Odd  []Odd    // the likeliest first; one, several or none by Rule
	All  []Reread // ways in which all pressures, or all temperatures, would fit; the best first
}

// Odd is a reading without which the rest fits.
type Odd struct {
	At      reading.Place
	Shows   float64    // SI, as read
	Rest    Band       // SI: what the other readings expect there
	PNone   float64    // of "none of these" without it
	Without []Marginal // the first answers without it, nothing wrong among them
	Fits    []Reread   // what else its number may be, that the rest expects
}

// How a number would fit.
const (
	FitsUnit        = "unit"        // Is, taken as Was
	FitsAbsolute    = "absolute"    // it was absolute, taken as gauge
	FitsGauge       = "gauge"       // it was gauge, taken as absolute
	FitsMinus       = "minus"       // the sign was lost, in the unit Is
	FitsRefrigerant = "refrigerant" // pressures of the refrigerant Is
)

// FitsCodes lists them.
func FitsCodes() []string {
	return []string{FitsUnit, FitsAbsolute, FitsGauge, FitsMinus, FitsRefrigerant}
}

// Reread is another meaning of what was read, under which it fits.
type Reread struct {
	How, Was, Is string
	At           []reading.Place
	Value        float64    // SI, of a single reading
	PNone        float64    // of "none of these" with it so; of all readings of a kind only
	Then         []Marginal // and the first answers; of all readings of a kind only
}

// How far the search goes. Judgement, ours: sheets hold a dozen readings, and of what is left after three nobody reads on.
const (
	oddMost    = 16
	oddNamed   = 3
	thenNamed  = 3
	warmAround = 10 // K that a pressure may stand on the wrong side of the air and still be tried: a poor probe, not a law
)

// heldAlso are refrigerants that a machine may hold instead of the one on its plate. Judgement, ours: what small
// machines were filled with most, one for each group whose pressures are about the same.
var heldAlso = []string{"R-134a", "R-22", "R-404A", "R-407C", "R-410A", "R-448A", "R-290", "R-600a", "R-744"}

// misfit leaves out one reading after the other, and reads all of a kind otherwise, until the rest fits.
//
//   - in: the sheet that nothing fits
//   - out: the reading that cannot belong, with what the rest expects of it
//   - errors: the context's
//   - assumes: one bogus reading, each as likely as another. With "none of these" as what a bogus reading shows, the odds
//     of some cause against none of these, without a reading, go as the probability that this is the bogus one (Bayes'
//     rule: the broad density of the reading left out stands for what it shows)
//   - source: definition; limits in [threshold]; single causes only, so that its figures are about those of a full run
//   - cost: a run without pairs for each reading, for each meaning of all pressures or temperatures that heat can flow
//     by: at most 16 and about 10; nothing where readings fit
func misfit(ctx context.Context, s reading.Sheet, f *refrigerant.Fit, cat *fault.Catalogue, used []reading.Place) (*Misfit, error) {
	out := &Misfit{Rule: MisfitNone}
	for _, at := range used[:min(len(used), oddMost)] {
		r, ok := s.Find(at)
		if !ok {
			continue
		}
		t := without(s, at)
		q, all, err := tryRest(ctx, t, f, cat)
		if err != nil {
			return nil, err
		}
		if q == nil || q.pNone >= threshold.NoneFits {
			continue
		}
		x := Odd{At: at, Shows: r.Value, PNone: q.pNone, Without: firstOf(all)}
		if x.Rest, ok = q.restExpects(at, all); !ok || x.Shows >= x.Rest.Low && x.Shows <= x.Rest.High {
			continue // it is as the rest has it: leaving it out only leaves less to explain
		}
		for _, m := range meanings(at.Kind(), s.Machine.AmbientPressure()) {
			if v := m.of(r.Value); at.Check(v) == nil && v >= x.Rest.Low && v <= x.Rest.High {
				x.Fits = append(x.Fits, Reread{How: m.how, Was: m.was, Is: m.is, At: []reading.Place{at}, Value: v})
			}
		}
		slices.SortStableFunc(x.Fits, func(a, b Reread) int {
			return cmp.Compare(math.Abs(a.Value-x.Rest.Mid), math.Abs(b.Value-x.Rest.Mid))
		})
		out.Odd = append(out.Odd, x)
	}
	slices.SortStableFunc(out.Odd, func(a, b Odd) int { return cmp.Compare(a.PNone, b.PNone) })
	k := 0
	for k < len(out.Odd) && out.Odd[0].PNone <= threshold.RestFits && !threshold.OddAhead(out.Odd[0].PNone, out.Odd[k].PNone) {
		k++
	}
	out.Odd = out.Odd[:min(k, oddNamed)]
	if err := out.otherwise(ctx, s, f, cat); err != nil {
		return nil, err
	}
	// What makes every reading fit has left none out: where it fits clearly better, it is what is said.
	switch {
	case len(out.All) > 0 && (k == 0 || threshold.OddAhead(out.All[0].PNone, out.Odd[0].PNone)):
		out.Rule, out.Odd = MisfitAll, nil
	case k == 1:
		out.Rule = MisfitOne
	case k > 1:
		out.Rule = MisfitSome
	}
	return out, nil
}

// without is the sheet without one reading.
func without(s reading.Sheet, at reading.Place) reading.Sheet {
	s.Readings = slices.DeleteFunc(slices.Clone(s.Readings), func(r reading.Reading) bool { return r.At == at })
	return s
}

// tryRest judges what is left, single causes only; nil where nothing explains it within [threshold.FarOff].
func tryRest(ctx context.Context, s reading.Sheet, f *refrigerant.Fit, cat *fault.Catalogue) (*problem, []*hypothesis, error) {
	if len(s.Readings) < threshold.EnoughToJudge {
		return nil, nil, nil
	}
	m, _ := s.Machine.Resolve()
	q, err := setUp(s, m, f, cat)
	if err != nil {
		return nil, nil, nil // a machine that cannot be so explains nothing
	}
	all, err := q.weigh(ctx, Options{NoPairs: true})
	if err != nil {
		return nil, nil, err
	}
	all = slices.DeleteFunc(slices.Clone(all), func(h *hypothesis) bool { return !h.ok })
	slices.SortStableFunc(all, func(a, b *hypothesis) int { return cmp.Compare(b.posterior, a.posterior) })
	if len(all) == 0 {
		return nil, nil, nil
	}
	far := 0.0
	for i := range q.e.obs {
		o := &q.e.obs[i]
		far = math.Max(far, math.Abs(o.residual(all[0].pred[i]))/o.sigma())
	}
	if far > threshold.FarOff {
		return nil, nil, nil
	}
	return q, all, nil
}

// firstOf are the first answers, nothing wrong among them.
func firstOf(all []*hypothesis) (out []Marginal) {
	for _, h := range all {
		if len(out) == thenNamed || len(out) > 0 && h.posterior < threshold.Unlikely {
			break
		}
		c := fault.Healthy
		if len(h.faults) > 0 {
			c = h.faults[0].Code
		}
		out = append(out, Marginal{c, h.posterior})
	}
	return out
}

// restExpects is what a place that was left out would show by what explains the rest: a normal with the mean and the
// variance of the mixture over causes.
func (q *problem) restExpects(at reading.Place, all []*hypothesis) (Band, bool) {
	r := rivalsOf(all)
	if len(r.hs) == 0 {
		return Band{}, false
	}
	mu, sd := make([]float64, len(r.hs)), make([]float64, len(r.hs))
	si := func(y float64) float64 { return y }
	switch c, ok := q.channel(at); {
	case at == reading.BoxAir || at == reading.BoxDisplay || at == reading.Ambient || at == reading.DrierIn || at == reading.DrierOut:
		disc := 0.0
		if at == reading.DrierIn || at == reading.DrierOut {
			disc = math.Hypot(channels[reading.LiquidLine].discrepancy, drierAway)
		}
		shows := func(h *hypothesis, x *[maxParams]float64, out *plant.Outputs) float64 {
			_, in, _ := q.machineAt(h, x)
			v, _ := Shown(at, in, out, 0, q.f)
			return v
		}
		for i, h := range r.hs {
			const step = 1e-3
			var slope [maxParams]float64
			mu[i] = shows(h, &h.x, &h.out)
			for j := range h.n {
				x, out := h.x, h.out
				x[j] += step
				for o := range out {
					out[o] += step * h.outJ[j][o]
				}
				slope[j] = (shows(h, &x, &out) - mu[i]) / step
			}
			sd[i] = math.Sqrt(h.variance(&slope) + math.Pow(math.Hypot(disc, reading.InstrumentUnknown.U(at)), 2))
		}
	case (at == reading.BoxWetBulb || at == reading.BoxHumidity) && q.wets():
		l := q.predictReading(at, channel{}, r.hs)
		mu, sd, si = l.mu, l.sd, l.si
	case ok && at != reading.HeaterAmps && (at.Kind() == reading.KindPressure || at.Kind() == reading.KindTemperature || q.full(at) > 0):
		l := q.predictReading(at, c, r.hs)
		mu, sd, si = l.mu, l.sd, l.si
	default:
		return Band{}, false
	}
	mid, square := 0.0, 0.0
	for i, w := range r.w {
		mid += w * mu[i]
		square += w * (sd[i]*sd[i] + mu[i]*mu[i])
	}
	spread := z95 * math.Sqrt(math.Max(0, square-mid*mid))
	b := Band{si(mid - spread), si(mid), si(mid + spread)}
	return b, b.Known() && !math.IsNaN(b.Low+b.High)
}

// meaning is another meaning of a number that was read.
type meaning struct {
	how, was, is string
	of           func(float64) float64 // SI to SI
}

// meanings are what a number may have been: in another unit, absolute or gauge, without its sign. Definition.
func meanings(k reading.Kind, ambient units.Pressure) (out []meaning) {
	a := float64(ambient)
	switch k {
	case reading.KindPressure:
		in := []struct {
			name string
			pa   float64
		}{{"psi", units.Psi}, {"bar", units.Bar}, {"kPa", units.Kilo}}
		for _, was := range in {
			for _, is := range in {
				if was != is {
					out = append(out, meaning{FitsUnit, was.name, is.name, func(v float64) float64 { return a + (v-a)*is.pa/was.pa }})
				}
			}
		}
		out = append(
			out,
			meaning{FitsAbsolute, "", "", func(v float64) float64 { return v - a }},
			meaning{FitsGauge, "", "", func(v float64) float64 { return v + a }},
		)
	case reading.KindTemperature:
		c := func(v float64) float64 { return units.Temp(v).C() }
		f := func(v float64) float64 { return units.Temp(v).F() }
		out = append(
			out,
			meaning{FitsUnit, "°F", "°C", func(v float64) float64 { return float64(units.Celsius(f(v))) }},
			meaning{FitsUnit, "°C", "°F", func(v float64) float64 { return float64(units.Fahrenheit(c(v))) }},
			meaning{FitsMinus, "", "°C", func(v float64) float64 { return float64(units.Celsius(-c(v))) }},
			meaning{FitsMinus, "", "°F", func(v float64) float64 { return float64(units.Fahrenheit(-f(v))) }},
		)
	}
	return out
}

// otherwise tries all pressures and all temperatures in another meaning, and the pressures as another refrigerant's.
func (m *Misfit) otherwise(ctx context.Context, s reading.Sheet, f *refrigerant.Fit, cat *fault.Catalogue) error {
	for _, k := range []reading.Kind{reading.KindPressure, reading.KindTemperature} {
		var at []reading.Place
		for _, r := range s.Readings {
			if r.At.Kind() == k {
				at = append(at, r.At)
			}
		}
		list := meanings(k, s.Machine.AmbientPressure())
		if k == reading.KindPressure {
			list = append(list, otherGas(f)...)
		}
		for _, x := range list {
			if len(at) < 2 && x.how != FitsRefrigerant || len(at) == 0 {
				continue // a single reading is tried by itself
			}
			t, ok := as(s, k, x.of)
			if !ok || !flows(t, f) {
				continue
			}
			q, all, err := tryRest(ctx, t, f, cat)
			if err != nil {
				return err
			}
			if q != nil && q.pNone <= threshold.RestFits {
				m.All = append(m.All, Reread{How: x.how, Was: x.was, Is: x.is, At: at, PNone: q.pNone, Then: firstOf(all)})
			}
		}
	}
	slices.SortStableFunc(m.All, func(a, b Reread) int { return cmp.Compare(a.PNone, b.PNone) })
	m.All = m.All[:min(len(m.All), oddNamed)]
	return nil
}

// otherGas turns a pressure into what this refrigerant has where another one condenses or boils at it.
func otherGas(f *refrigerant.Fit) (out []meaning) {
	for _, name := range heldAlso {
		if name == f.Designation() {
			continue
		}
		r, err := refrigerant.Load(name)
		if err != nil {
			continue
		}
		g, err := r.Fit()
		if err != nil {
			continue
		}
		out = append(out, meaning{FitsRefrigerant, f.Designation(), name, func(p float64) float64 {
			if !g.InRange(p) {
				return math.NaN()
			}
			return f.DewT(g.DewP(p))
		}})
	}
	return out
}

// as is the sheet with every reading of a kind in another meaning; false where one of them cannot be so.
func as(s reading.Sheet, k reading.Kind, of func(float64) float64) (reading.Sheet, bool) {
	s.Readings = slices.Clone(s.Readings)
	for i := range s.Readings {
		if r := &s.Readings[i]; r.At.Kind() == k {
			if r.Value = of(r.Value); math.IsNaN(r.Value) || r.At.Check(r.Value) != nil {
				return s, false
			}
		}
	}
	return s, true
}

// flows reports whether heat can flow as the machine must have it: out of the box into the coil, out of the condenser
// into the air outside.
func flows(s reading.Sheet, f *refrigerant.Fit) bool {
	for _, x := range s.Check() {
		if x.Severity == reading.Block {
			return false
		}
	}
	a := circuit.Analyze(s, f)
	box, boxRead := s.Find(reading.BoxAir)
	amb, ambRead := s.Find(reading.Ambient)
	if sat, ok := a.At(reading.SuctionPressure); ok && boxRead && float64(sat.Dew) > box.Value+warmAround {
		return false
	}
	sat, ok := a.At(reading.DischargePressure)
	return !(ok && ambRead && float64(sat.Dew) < amb.Value-warmAround)
}
