package standing

import (
	"fmt"
	"math"
	"slices"

	"coldwright/fail"
	"coldwright/gasflow"
	"coldwright/internal/table"
	"coldwright/num"
	"coldwright/proof/size"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Point is one look at the gauge of a standing-pressure test.
type Point struct {
	Minute   float64
	Pressure units.Pressure // absolute
	Gas      []units.Temp   // of each volume, in the order of Options.Volumes
}

// Verdict of a standing-pressure test.
type Verdict int

// The verdicts.
const (
	Unknown Verdict = iota
	TightWithin
	Leaking
	Undecided
	NoLeakSeen // what was asked is excluded, but a leak that matters would not have shown, or nobody can say
)

func (v Verdict) String() string {
	return [...]string{"unknown", "tight_within", "leaking", "undecided", "no_leak_seen"}[v]
}

// MarshalText writes the word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Codes of a standing-pressure test: reasons and cautions. The words for them stand in package text.
const (
	OneReading      = "one_reading"        // a change needs two
	PressureGained  = "pressure_gained"    // more gas at the end than at the start
	TooShort        = "hold_too_short"     // the smallest leak it could see is larger than asked
	TooUncertain    = "hold_too_uncertain" // a longer hold of this kind would not decide within a week
	NotALine        = "not_a_straight_line"
	LargeSwing      = "large_temperature_swing"
	VolumeUnknown   = "volume_unknown"
	NoPressureOn    = "no_pressure_on" // no pressure above the atmosphere to drive a leak
	NitrogenOnly    = "nitrogen_only"
	UseRegulator    = "nitrogen_regulator"
	UseRelief       = "nitrogen_relief"
	LowestNameplate = "lowest_nameplate"
	NameplateAsked  = "nameplate_not_given"
	AboveNameplate  = "above_lowest_nameplate"
	StandClear      = "nitrogen_stand_clear"
	NitrogenAir     = "nitrogen_ventilate"
)

// Options tune the judgement; zero values are the documented defaults.
type Options struct {
	Volumes   []float64        // m³, one per gas temperature; none: equal shares of an unknown whole
	Gauge     bool             // the gauge reads against the atmosphere, and the barometer was not read: weather moves it
	Ambient   units.Pressure   // atmosphere outside; 0: sea level
	Nameplate []units.Pressure // test pressures allowed by the plates of all parts under pressure, absolute

	ReadU    units.Pressure // standard uncertainty of one look at the gauge; 0: 0.4 psi
	GaugeRel float64        // standard uncertainty of the gauge's scale, share; 0: 0.01. It acts on the change only
	DriftU   units.Pressure // how the gauge's zero may move during the test, standard uncertainty; 0: 0.1 psi
	GasU     units.TempDiff // one look at a thermometer left in its place; 0: 0.2 K
	FollowU  float64        // share of a temperature change by which gas and thermometer may differ; 0: 0.1

	Share        float64                    // loss asked about, share of the gas in a day; 0: 0.05
	Refrigerants []*refrigerant.Refrigerant // for which the smallest leak is expressed
	Working      units.Pressure             // absolute, where the refrigerant stands at the leak; 0: its dew pressure at 40 °C (104 °F)
	Charge       units.Mass                 // full charge of the machine; 0: not known, and then tight is not said
}

// defaults. Judgement: reading a service gauge, gas against a taped thermometer. The default question, a twentieth of
// the gas in a day, is what a hold of two hours read twice with such a gauge can answer: a published procedure holds
// that long (UFGS 15741N, 3.7). It is a large leak; a longer hold sees less.
func (o Options) defaults() Options {
	set := func(v *float64, d float64) {
		if !(*v > 0) {
			*v = d
		}
	}
	set((*float64)(&o.ReadU), 0.4*units.Psi)
	set(&o.GaugeRel, 0.01)
	set((*float64)(&o.DriftU), 0.1*units.Psi)
	set((*float64)(&o.GasU), 0.2)
	set(&o.FollowU, 0.1)
	set(&o.Share, 0.05)
	if o.Ambient <= 0 {
		o.Ambient = units.Atm
	}
	return o
}

// weather is the variance of the barometer's walk, Pa² per hour: 1 kPa in a day. Judgement, half of what a front brings.
const weather = 1e6 / 24

// Result is the answer.
type Result struct {
	Verdict  Verdict
	Reason   string // code, when undecided
	N        int
	Span     float64        // minutes
	First    units.Pressure // absolute, read
	Last     units.Pressure
	Expected units.Pressure // at the last temperatures, had nothing been lost
	// Change of the pressure once temperature is taken out, Pa over the span, at the temperatures of the first reading; negative is lost.
	Change Uncertain
	// Interval that holds the change 90 times of 100.
	Low, High float64
	// The readings with temperature taken out, at the temperatures of the first one, and where the line through them begins: for the figure.
	Corrected []Corrected
	Start     units.Pressure
	FlatRule  float64 // Pa: the change by the flat 0.3 psi per °F of UFGS 15182 instead of the gas law; right near 150 psig only
	Z         float64 // real-gas factor of nitrogen at the first reading

	SmallestShare float64 // share of the gas a day: a loss this large would have been called a leak about nine times of ten
	AskedShare    float64
	SmallestStdCC *float64    // std cc/s of nitrogen; nil when no volume is known
	Leaks         []size.Leak // of all volumes; empty when none is known
	PerLitre      []size.Leak // of each litre under test, whatever the volume
	// Unseen is the largest of Leaks, g/year: what would not show; nil when no volume is known. Tight is said where it lies
	// below TightBelow, g/year; nil when the charge is not known.
	Unseen, TightBelow *float64
	NoLeakReason       string   // code, when Leaks is empty
	MinutesLeft        *float64 // of further holding that would decide; nil when decided or never
	Plate              error    // of [CheckTestPressure] for the highest pressure read; nil: under the lowest plate
	Cautions           []string // codes: dangers at this step
	Findings           []string // codes: what limits the answer
}

// Corrected is a reading of a standing-pressure test as it would stand at the temperatures of the first one.
type Corrected struct {
	Minute   float64 // since the first reading
	Pressure units.Pressure
}

// CheckTestPressure refuses a test pressure above the lowest plate of the parts that stand under it.
//
//   - in: the highest pressure put on, and the plates' test pressures, all absolute
//   - out: nothing
//   - errors: [*fail.Error] with code Forbidden above the lowest plate, Required when no plate is given
//   - source: the plate always wins: ASHRAE 15-1994, 10.1.2, tests no part above its own design pressure
func CheckTestPressure(p units.Pressure, plates []units.Pressure) error {
	if len(plates) == 0 {
		return fail.Of(fail.Required, "nameplate", "standing.no_plate", nil)
	}
	if low := slices.Min(plates); p > low {
		return fail.Of(fail.Forbidden, "pressure", "standing.above_plate", fail.Args{"pressure": p, "plate": low})
	}
	return nil
}

// nitrogen tabulates the density of nitrogen, mol/m³, over the pressures and temperatures of a test.
func nitrogen(pLo, pHi, tLo, tHi float64) (num.Chebyshev2, error) {
	r, err := refrigerant.Load("R-728")
	if err != nil {
		return num.Chebyshev2{}, err
	}
	const n = 6
	ps, ts := num.ChebyshevNodes(n, pLo, pHi), num.ChebyshevNodes(n, tLo, tHi)
	z := make([]float64, 0, n*n)
	for _, T := range ts {
		for _, p := range ps {
			s, err := r.StatePT(p, T, refrigerant.Options{})
			if err != nil {
				return num.Chebyshev2{}, err
			}
			z = append(z, s.Rho/r.MolarMass())
		}
	}
	return num.FitChebyshev2(tLo, tHi, pLo, pHi, n, n, z), nil
}

// filling is the gas in all volumes.
type filling struct {
	rho    num.Chebyshev2 // of temperature and pressure
	volume []float64
}

// moles returns the amount at a pressure, and its slope.
func (f *filling) moles(p float64, T []units.Temp) (n, slope float64) {
	for i, v := range f.volume {
		r, d := f.rho.At(float64(T[i]), p)
		n += v * r
		slope += v * d
	}
	return n, slope
}

// pressure returns what an amount stands at.
func (f *filling) pressure(n float64, T []units.Temp, start float64) float64 {
	p := start
	for range 20 {
		m, d := f.moles(p, T)
		step := (n - m) / d
		p += step
		if math.Abs(step) < 1e-9*p {
			break
		}
	}
	return p
}

// quantileT is Student's t from the normal quantile z.
//
// source: Abramowitz and Stegun 26.7.5; within 0.5 % from 5 degrees of freedom for the quantiles used here.
func quantileT(z, nu float64) float64 {
	return z + (z*z*z+z)/(4*nu) + (5*math.Pow(z, 5)+16*z*z*z+3*z)/(96*nu*nu) +
		(3*math.Pow(z, 7)+19*math.Pow(z, 5)+17*z*z*z-15*z)/(384*nu*nu*nu)
}

const (
	z95, z975 = num.Normal90, num.Normal95
	// nuPrior is what the assumed noise of a look is worth in looks; more looks move it to what they scatter.
	nuPrior = 10
	week    = 7 * 24 * 60.0
)

// Judge judges a standing-pressure test with nitrogen.
//
//		Σ V_i ρ(p, T_i) = n
//		the pressure n stands at with the temperatures of the first reading is P0 + change·t/span + follow·(temperature correction)
//
//	  - in: points in any order; one temperature per volume in each
//	  - out: verdict, change once temperature is taken out, smallest leak seen, cautions
//	  - errors: [*fail.Error]: no points, repeated minutes, volumes that do not match, values that cannot be
//	  - assumes: dry nitrogen alone, settled after filling; volumes as given; loss small against the whole, or steady
//	  - source: equation of state of nitrogen of Span et al. (2000); least squares with the noise learned from the scatter
//	    (conjugate prior), systematic parts added; published holds in doc.go
//	  - cost: 10 ms, and 2 µs a point
func Judge(points []Point, o Options) (Result, error) {
	o = o.defaults()
	if len(points) == 0 {
		return Result{}, fail.Of(fail.Required, "points", "standing.no_reading", nil)
	}
	pts := append([]Point{}, points...)
	if err := table.InOrder(pts, func(p Point) float64 { return p.Minute }); err != nil {
		return Result{}, err
	}
	volumes := o.Volumes
	if len(volumes) == 0 {
		volumes = make([]float64, len(pts[0].Gas))
		for i := range volumes {
			volumes[i] = 1 / float64(len(volumes))
		}
	}
	pLo, pHi, tLo, tHi := math.Inf(1), 0.0, math.Inf(1), 0.0
	for i, p := range pts {
		if len(p.Gas) != len(volumes) {
			return Result{}, fail.Of(fail.BadData, "volumes", "standing.volumes_differ",
				fail.Args{"volumes": len(volumes), "gas": len(p.Gas), "reading": i + 1})
		}
		if math.IsNaN(p.Minute) || math.IsInf(p.Minute, 0) || !(p.Pressure >= 20e3 && p.Pressure <= 30e6) {
			return Result{}, fail.Of(fail.Range, fmt.Sprintf("reading %d", i+1), "standing.pressure_at",
				fail.Args{"pressure": float64(p.Pressure) / units.Kilo, "minute": p.Minute})
		}
		pLo, pHi = math.Min(pLo, float64(p.Pressure)), math.Max(pHi, float64(p.Pressure))
		for _, T := range p.Gas {
			if !(T >= 200 && T <= 400) {
				return Result{}, fail.Of(fail.Range, fmt.Sprintf("reading %d", i+1), "standing.gas_cannot_be", fail.Args{"gas": T})
			}
			tLo, tHi = math.Min(tLo, float64(T)), math.Max(tHi, float64(T))
		}
	}
	whole := 0.0
	for i, v := range volumes {
		if !(v > 0 && v < 1e3) {
			return Result{}, fail.Of(fail.Range, "volumes", "standing.volume",
				fail.Args{"part": i + 1, "litres": v * units.Kilo})
		}
		whole += v
	}
	// The corrected pressure may leave the range read by the ratio of the temperatures.
	rho, err := nitrogen(0.98*pLo*tLo/tHi, 1.02*pHi*tHi/tLo, tLo-1, tHi+1)
	if err != nil {
		return Result{}, err
	}
	f := filling{rho, volumes}
	first, last := pts[0], pts[len(pts)-1]
	n0, _ := f.moles(float64(first.Pressure), first.Gas)
	out := Result{N: len(pts), Span: last.Minute - first.Minute, First: first.Pressure, Last: last.Pressure, AskedShare: o.Share}
	out.Expected = units.Pressure(f.pressure(n0, last.Gas, float64(last.Pressure)))
	inverse := 0.0
	for i, v := range volumes {
		inverse += v / float64(first.Gas[i])
	}
	out.Z = float64(first.Pressure) * inverse / (n0 * num.GasConstant)
	out.Plate = CheckTestPressure(units.Pressure(pHi), o.Nameplate)
	out.Cautions = cautions(out.Plate)
	swing := 0.0
	for i := range volumes {
		swing += volumes[i] / whole * float64(last.Gas[i]-first.Gas[i])
	}
	out.FlatRule = float64(last.Pressure-first.Pressure) - 0.3*units.Psi/units.Fahr*swing
	if len(pts) < 2 {
		out.Verdict, out.Reason, out.NoLeakReason = Undecided, OneReading, OneReading
		return out, nil
	}

	// Corrected pressures, and how much of each is correction.
	y, x, at := make([]float64, len(pts)), make([]float64, len(pts)), make([]float64, len(pts))
	for i, p := range pts {
		n, _ := f.moles(float64(p.Pressure), p.Gas)
		y[i] = f.pressure(n, first.Gas, float64(p.Pressure))
		x[i] = float64(p.Pressure) - y[i]
		at[i] = (p.Minute - first.Minute) / out.Span
		out.Corrected = append(out.Corrected, Corrected{p.Minute - first.Minute, units.Pressure(y[i])})
	}
	perK := y[0] / float64(first.Gas[0])
	sigma := math.Hypot(float64(o.ReadU), perK*float64(o.GasU)/math.Sqrt(float64(len(volumes))))
	fit := fitLine(at, y, x, sigma, o.FollowU)
	out.Start = units.Pressure(fit.start)
	days := out.Span / (24 * 60)
	loss := -fit.change
	k1, k2 := quantileT(z975, fit.nu), quantileT(z95, fit.nu)
	// u of the change had the test gone on to a span, with looks at the same interval.
	uAt := func(span, loss float64) float64 {
		// A line through m equal steps has the variance 12(m − 1)/(m(m + 1)) of one look in its change over the whole.
		of := func(m float64) float64 { return 12 * (m - 1) / (m * (m + 1)) }
		m := float64(len(pts))
		grow := of(1+(m-1)*span/out.Span) / of(m)
		v := fit.noise*fit.noise*grow + fit.follow*fit.follow + float64(o.DriftU*o.DriftU) + o.GaugeRel*o.GaugeRel*loss*loss
		if o.Gauge {
			v += 1.2 * weather * span / 60 // of a straight line laid through a random walk
		}
		return math.Sqrt(v)
	}
	u := uAt(out.Span, loss)
	out.Change = Uncertain{fit.change, u}
	out.Low, out.High = fit.change-k2*u, fit.change+k2*u
	out.SmallestShare = (k1 + k2) * uAt(out.Span, 0) / y[0] / days
	allowed := o.Share * y[0] * days
	decided := func(span float64) Verdict {
		grown := loss * span / out.Span
		switch u := uAt(span, grown); {
		case grown > k1*u:
			return Leaking
		case grown < -k1*u:
			return Undecided
		case grown+k2*u <= allowed*span/out.Span:
			return NoLeakSeen // [size.Tight] says below whether it is tight
		}
		return Undecided
	}
	if out.Verdict = decided(out.Span); out.Verdict == Undecided {
		switch {
		case loss < -k1*u:
			out.Reason = PressureGained
		default:
			out.Reason = TooUncertain
			for span := out.Span; span <= out.Span+week; span += math.Max(1, 0.01*span) {
				if decided(span) != Undecided {
					left := span - out.Span
					out.Reason, out.MinutesLeft = TooShort, &left
					break
				}
			}
		}
	}
	if fit.bent {
		out.Findings = append(out.Findings, NotALine)
	}
	if fit.follow > 2*math.Hypot(fit.noise, float64(o.DriftU)) {
		out.Findings = append(out.Findings, LargeSwing)
	}
	flow := gasflow.Flow(out.SmallestShare * n0 / 86400)
	if len(o.Volumes) == 0 {
		out.NoLeakReason = VolumeUnknown
	} else {
		cc := flow.StandardCC()
		out.SmallestStdCC = &cc
	}
	out.TightBelow = size.TightBelow(o.Charge)
	if !(y[0] > 1.02*float64(o.Ambient)) {
		out.NoLeakReason = NoPressureOn
		return out, nil
	}
	test := gasflow.Drive{Gas: gasflow.Nitrogen(gasflow.Room), Inside: y[0], Outside: float64(o.Ambient)}
	for _, r := range o.Refrigerants {
		l, err := size.Of(r, o.Working, flow, test, o.Ambient)
		if err != nil {
			return Result{}, err
		}
		if len(o.Volumes) > 0 {
			out.Leaks = append(out.Leaks, l)
		}
		// A litre loses a smaller flow, so through a smaller hole, that passes otherwise.
		if l, err = size.Of(r, o.Working, flow/gasflow.Flow(whole*units.Kilo), test, o.Ambient); err != nil {
			return Result{}, err
		}
		out.PerLitre = append(out.PerLitre, l)
	}
	out.Unseen = size.Largest(out.Leaks)
	if out.Verdict == NoLeakSeen && size.Tight(out.Unseen, out.TightBelow) {
		out.Verdict = TightWithin
	}
	return out, nil
}

// cautions are the dangers at this step, what the plates say first.
func cautions(plate error) []string {
	out := []string{NitrogenOnly, UseRegulator, UseRelief, LowestNameplate, StandClear, NitrogenAir}
	switch fail.CodeOf(plate) {
	case fail.Forbidden:
		return append([]string{AboveNameplate}, out...)
	case fail.Required:
		return append([]string{NameplateAsked}, out...)
	}
	return out
}

type lineFit struct {
	start                 float64 // Pa, of the line at the first reading
	change, noise, follow float64 // Pa over the span; standard uncertainties from the looks and from the thermometer that may not follow
	nu                    float64
	bent                  bool
}

// fitLine lays y = P0 + change·at + follow·x through the corrected pressures, follow with a prior of spread followU.
// The noise starts at sigma and learns from the scatter; looks that hang together count for fewer.
func fitLine(at, y, x []float64, sigma, followU float64) lineFit {
	n := len(y)
	solve := func(s, fu float64) (theta, v [3]float64, rss float64) {
		var a [9]float64
		var b [3]float64
		a[8] = 1 / (fu * fu)
		for i := range y {
			row := [3]float64{1, at[i], x[i]}
			for r := range 3 {
				b[r] += row[r] * (y[i] - y[0]) / (s * s)
				for c := range 3 {
					a[3*r+c] += row[r] * row[c] / (s * s)
				}
			}
		}
		for k := range 3 {
			m, e := append([]float64{}, a[:]...), make([]float64, 3)
			e[k] = 1
			num.SolveDense(3, m, e)
			v[k] = e[k]
			for c := range 3 {
				theta[k] += e[c] * b[c]
			}
		}
		for i := range y {
			r := y[i] - y[0] - theta[0] - theta[1]*at[i] - theta[2]*x[i]
			rss += r * r
		}
		return theta, v, rss
	}
	s := sigma
	var theta, v [3]float64
	for range 3 {
		var rss float64
		theta, v, rss = solve(s, followU)
		s = math.Sqrt((nuPrior*sigma*sigma + rss) / (nuPrior + math.Max(0, float64(n-2))))
	}
	theta, v, _ = solve(s, followU)
	_, only, _ := solve(s, 1e-9)
	out := lineFit{start: y[0] + theta[0], change: theta[1], nu: nuPrior + math.Max(0, float64(n-2))}
	noise := only[1]
	out.follow = math.Sqrt(math.Max(0, v[1]-noise))
	// Residuals that hang together: lag-one correlation widens the noise as in an autoregressive series.
	var r0, r1, bend, q0 float64
	mean := 0.0
	for i := range y {
		mean += (at[i] - 0.5) * (at[i] - 0.5) / float64(n)
	}
	prev := 0.0
	for i := range y {
		r := y[i] - y[0] - theta[0] - theta[1]*at[i] - theta[2]*x[i]
		r0 += r * r
		if i > 0 {
			r1 += r * prev
		}
		prev = r
		q := (at[i]-0.5)*(at[i]-0.5) - mean
		bend += q * r
		q0 += q * q
	}
	if n >= 10 && r0 > 0 {
		if c := math.Min(0.95, r1/r0); c > 0 {
			noise *= (1 + c) / (1 - c)
		}
	}
	out.noise = math.Sqrt(noise)
	out.bent = n >= 8 && q0 > 0 && math.Abs(bend) > 4*s*math.Sqrt(q0)
	return out
}
