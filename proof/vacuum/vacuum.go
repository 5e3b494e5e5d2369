package vacuum

import (
	"fmt"
	"math"

	"coldwright/fail"
	"coldwright/gasflow"
	"coldwright/internal/table"
	"coldwright/num"
	"coldwright/proof/size"
	"coldwright/refrigerant"
	"coldwright/units"
	"coldwright/verdict/threshold"
	"coldwright/water"
)

// Point is one look at the vacuum gauge after the valve to the pump was shut.
type Point struct {
	Minute   float64
	Pressure units.Pressure // absolute
}

// Verdict of a vacuum rise test.
type Verdict int

// The verdicts.
const (
	Unknown Verdict = iota
	DryAndTight
	Leak
	Moisture
	Both
	CannotProveDry
	Undecided
	DryNoLeakSeen // dry, and no leak seen, but one that matters would not have shown, or nobody can say
)

func (v Verdict) String() string {
	return [...]string{"unknown", "dry_and_tight", "leak", "moisture", "both", "cannot_prove_dry", "undecided", "dry_no_leak_seen"}[v]
}

// MarshalText writes the word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Codes of a rise test. The words for them stand in package text.
const (
	FewPoints           = "fewer_than_four_readings"
	LineOrLevelling     = "line_or_levelling"     // the curve is too short to tell a leak from moisture
	LeakNotExcluded     = "leak_not_excluded"     // moisture for sure, perhaps a leak as well
	MoistureNotExcluded = "moisture_not_excluded" // a leak for sure, perhaps moisture as well
	HoldNotOver         = "hold_not_over"         // well so far, but the criterion asks to stand longer
	TargetNotReached    = "target_not_reached"    // the criterion asks for a deeper vacuum first
	AboveAccept         = "final_above_accept"    // it stands, but too high
	// AboveWaterCeiling: it levels off where water at the coldest part cannot stand: refrigerant out of the oil, or a wrong temperature
	AboveWaterCeiling = "levels_above_ceiling"
	PressureFalls     = "pressure_falls"
	ColdestUnknown    = "coldest_unknown"
	TooColdForDry     = "too_cold_for_dry" // ice at the coldest part would stand at or below this reading
	SmallStraightRise = "small_straight_rise"
	NeverDecides      = "longer_does_not_help"
)

// Options tune the judgement; zero values are the documented defaults.
type Options struct {
	Volume       float64        // m³; 0: not known, and then no leak size
	Coldest      units.Temp     // of the coldest part under vacuum; 0: not known, and then dryness cannot be proven
	ColdestU     units.TempDiff // standard uncertainty; 0: 1 K
	Gas          units.Temp     // of most of the volume, for the mass of water; 0: 20 °C
	Outside      units.Pressure // atmosphere; 0: sea level
	Profile      *Profile       // criterion; nil: defaultProfile default, see doc.go
	GaugeRel     float64        // tolerance of the gauge, share of the reading; 0: 0.1
	GaugeAbs     units.Pressure // and absolute; 0: 10 micron
	ReadRel      float64        // scatter of one look, share, standard uncertainty; 0: 0.01
	ReadAbs      units.Pressure // and absolute; 0: 2 micron
	Refrigerants []*refrigerant.Refrigerant
	Working      units.Pressure
	Charge       units.Mass // full charge of the machine; 0: not known, and then tight is not said
}

// defaultProfile is what is asked where no criterion is named: stand a quarter of an hour, end at 500 micron or less, 200
// micron of levelling rise at most (the step of UFGS 15182) and a straight part of one micron a minute at most.
// Judgement.
var defaultProfile = Profile{Key: "house", Hold: 15, Accept: 500, Source: "judgement", Evidence: "MEMORY"}

const (
	maxRise      = 2000  // points that are used
	defaultRise  = 200.0 // micron
	defaultSlope = 1.0   // micron per minute
	givesOff     = 25.0  // micron that any clean volume may give off at first, standard uncertainty; judgement
)

func (o Options) defaults() Options {
	set := func(v *float64, d float64) {
		if !(*v > 0) {
			*v = d
		}
	}
	set((*float64)(&o.ColdestU), 1)
	set((*float64)(&o.Gas), float64(units.Celsius(20)))
	set((*float64)(&o.Outside), float64(units.Atm))
	set(&o.GaugeRel, 0.1)
	set((*float64)(&o.GaugeAbs), 10*units.Micron)
	set(&o.ReadRel, 0.01)
	set((*float64)(&o.ReadAbs), 2*units.Micron)
	return o
}

// Part is a share of the rise: standard uncertainty, and the interval that holds it 90 times of 100. The gauge's tolerance is inside.
type Part struct {
	Uncertain
	Low  float64
	High float64
}

// Result is the answer.
type Result struct {
	Verdict     Verdict
	Reason      string // code
	N           int
	Span        float64 // minutes
	First, Last units.Pressure
	Profile     Profile
	Horizon     float64         // minutes at which the parts are counted: the test, or the hold asked for when that is longer
	Leak        Part            // micron per minute, the straight part
	Moisture    Part            // micron at the horizon, the levelling part
	PLeak       float64         // probability that the straight part is more than allowed
	PMoisture   float64         // probability that the levelling part is more than allowed
	Tau         float64         // minutes of the levelling part, where it is there
	AllowedLeak float64         // micron per minute
	AllowedRise float64         // micron
	DryLimit    *units.Pressure // vapour over ice or water at the coldest part
	Flow        *float64        // Pa m³/s of air, from the straight part
	StdCC       *float64
	WaterGrams  *float64    // vapour of the levelling part
	Leaks       []size.Leak // by the middle of the straight part
	LeaksHigh   []size.Leak // by its upper end: not larger than this
	// Unseen is the largest of LeaksHigh, g/year: what would not show; nil when no volume is known. Tight is said where it
	// lies below TightBelow, g/year; nil when the charge is not known.
	Unseen, TightBelow *float64
	MinutesLeft        *float64
	Findings           []string
}

// CurvePoint is the most likely curve at a minute after the first reading: the whole of it, and where it would stand by
// the straight part alone.
type CurvePoint struct {
	Minute      float64
	Whole, Leak units.Pressure
}

// DefaultProfile is the criterion of a rise test where none is named; see doc.go.
func DefaultProfile() Profile { return defaultProfile }

// Curve returns the most likely rise and its straight part, for a figure.
//
//   - in: the points and options of [Judge]; to, minutes after the first reading, above 0
//   - out: 41 moments from 0 to there; nothing with fewer than four points or where Judge refuses them
//   - source: as [Judge]: the four curves averaged by their weights
//   - cost: as Judge
func Curve(points []Point, o Options, to float64) []CurvePoint {
	o = o.defaults()
	pts := append([]Point{}, points...)
	if len(pts) < 4 || !(to > 0) || table.InOrder(pts, func(p Point) float64 { return p.Minute }) != nil {
		return nil
	}
	whole, straight := bestCurves(pts, o)
	var out []CurvePoint
	for i := range 41 {
		t := to * float64(i) / 40
		out = append(out, CurvePoint{t, units.Pressure(whole(t)), units.Pressure(straight(t))})
	}
	return out
}

// Judge judges a vacuum rise test.
//
//		p(t) = p0 + a t + b (1 − exp(−t/τ));  a ≥ 0 is air through a leak, 0 ≤ b ≤ vapour over the coldest part is moisture
//
//	  - in: points in any order, from the moment the pump was shut off
//	  - out: verdict, leak and moisture part, probabilities, what the coldest part lets one prove
//	  - errors: [*fail.Error]: no points, repeated minutes, values that cannot be
//	  - assumes: volume shut off from the pump, temperatures steady; pressure far below the atmosphere, so that a leak flows
//	    steadily (choked)
//	  - source: model averaging over four curves (level, line, levelling, both) with τ on a grid, half-normal priors on the scale
//	    of the whole rise, noise learned from the scatter; ours, see doc.go. Ceiling: [water.VapourPressure]
//	  - cost: under 20 ms for 1,000 points
func Judge(points []Point, o Options) (Result, error) {
	o = o.defaults()
	if len(points) == 0 {
		return Result{}, fail.Of(fail.Required, "points", "vacuum.no_reading", nil)
	}
	pts := append([]Point{}, points...)
	if err := table.InOrder(pts, func(p Point) float64 { return p.Minute }); err != nil {
		return Result{}, err
	}
	for i, p := range pts {
		if math.IsNaN(p.Minute) || math.IsInf(p.Minute, 0) || !(p.Pressure >= 0 && p.Pressure <= 120e3) {
			return Result{}, fail.Of(fail.Range, fmt.Sprintf("reading %d", i+1), "vacuum.at",
				fail.Args{"pressure": float64(p.Pressure) / units.Micron, "minute": p.Minute})
		}
	}
	if o.Volume < 0 || o.Volume > 1e3 || o.Coldest != 0 && !(o.Coldest >= 180 && o.Coldest <= 373) {
		return Result{}, fail.Of(fail.Range, "options", "vacuum.options", nil)
	}
	if every := (len(pts) + maxRise - 1) / maxRise; every > 1 {
		thin := pts[:0]
		for i, p := range pts {
			if i%every == 0 || i == len(pts)-1 {
				thin = append(thin, p)
			}
		}
		pts = thin
	}
	out := judge(pts, o)
	out.N = len(points)
	if out.Verdict != Undecided || out.Reason == FewPoints || out.Reason == PressureFalls || out.Reason == AboveWaterCeiling ||
		out.Reason == AboveAccept || out.Reason == TargetNotReached {
		return out, nil
	}
	if out.Reason == HoldNotOver {
		left := out.Profile.Hold - out.Span
		out.MinutesLeft = &left
		return out, nil
	}
	// Would a longer test decide, if the curve goes on as it most likely does?
	step := math.Max(1, out.Span/math.Max(1, float64(len(pts)-1)))
	best := bestCurve(pts, o)
	for _, grow := range []float64{1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 12} {
		want := math.Max(out.Span*grow, out.Span+2*step)
		if want > 24*60 {
			break
		}
		long := append([]Point{}, pts...)
		for m := out.Span + step; m <= want && len(long) < 5000; m += step {
			long = append(long, Point{pts[0].Minute + m, units.Pressure(best(m))})
		}
		if j := judge(long, o); j.Verdict != Undecided || j.Reason == HoldNotOver {
			left := math.Max(want, out.Profile.Hold) - out.Span
			out.MinutesLeft = &left
			return out, nil
		}
	}
	out.Findings = append(out.Findings, NeverDecides)
	return out, nil
}

// Where the coldest part is not known water stands at most as over 40 °C, the hottest plant room; and 60 °C is so warm
// that no part under vacuum is: what rises beyond the ceiling but not beyond that is no water. Judgement, ours.
const (
	unknownCeiling = num.ZeroCelsius + 40
	freeCeiling    = num.ZeroCelsius + 60
)

// waterCeiling is the most that water can stand at, with what the thermometer and the gauge may be off, and the least
// that ice or water would.
func waterCeiling(o Options) (most, least float64) {
	if o.Coldest == 0 {
		return water.Curve(unknownCeiling), 0
	}
	most = water.Curve(float64(o.Coldest+2*units.Temp(o.ColdestU)))*(1+o.GaugeRel) + float64(o.GaugeAbs)
	return most, water.Curve(float64(o.Coldest - 2*units.Temp(o.ColdestU)))
}

func judge(pts []Point, o Options) Result {
	pr := defaultProfile
	if o.Profile != nil {
		pr = *o.Profile
	}
	first, last := pts[0], pts[len(pts)-1]
	out := Result{N: len(pts), Span: last.Minute - first.Minute, First: first.Pressure, Last: last.Pressure, Profile: pr}
	out.Horizon = math.Max(out.Span, pr.Hold)
	out.AllowedLeak, out.AllowedRise = defaultSlope, defaultRise
	if o.Profile != nil {
		out.AllowedRise = math.Max(pr.Accept-pr.Target, float64(o.GaugeAbs)/units.Micron+o.GaugeRel*pr.Accept)
		out.AllowedLeak = out.AllowedRise / math.Max(pr.Hold, 1)
	}
	if o.Coldest != 0 {
		p := units.Pressure(water.Curve(float64(o.Coldest)))
		out.DryLimit = &p
	}
	if len(pts) < 4 {
		out.Verdict, out.Reason = Undecided, FewPoints
		return out
	}
	f := prepare(pts, o)
	most, least := waterCeiling(o)
	ps, whole := f.average(most)
	if _, free := f.average(water.Curve(freeCeiling)); free > whole+8 {
		out.Verdict, out.Reason = Undecided, AboveWaterCeiling
	}
	var a1, a2, b1, b2, tau, wTau float64
	for i := range ps {
		p := &ps[i]
		if p.hasLine {
			m1, m2 := p.moments()
			a1 += p.w * m1
			a2 += p.w * m2
			out.PLeak += p.w * p.above(out.AllowedLeak*units.Micron)
		}
		if b := p.part(out.Horizon); b > 0 {
			b1 += p.w * b
			b2 += p.w * b * b
			tau += p.w * math.Log(p.tau)
			wTau += p.w
			if b > out.AllowedRise*units.Micron {
				out.PMoisture += p.w
			}
		}
	}
	if wTau > 0.5 {
		out.Tau = math.Exp(tau / wTau)
	}
	line := func(p *piece) bool { return p.hasLine }
	levels := func(p *piece) bool { return p.tau > 0 }
	out.Leak = spread(ps, a1, a2, o.GaugeRel, line, func(p *piece, x float64) float64 { return p.above(x) })
	out.Moisture = spread(ps, b1, b2, o.GaugeRel, levels, func(p *piece, x float64) float64 {
		if p.part(out.Horizon) > x {
			return 1
		}
		return 0
	})
	out.Moisture.U = math.Hypot(out.Moisture.U, givesOff)
	out.Moisture.High = out.Moisture.Value + math.Hypot(out.Moisture.High-out.Moisture.Value, z95*givesOff)
	if o.Volume > 0 {
		through := out.Leak.Value * units.Micron * o.Volume / 60
		flow := gasflow.FromThroughput(through, float64(o.Gas))
		cc, grams := flow.StandardCC(), 0.0
		if kg, err := water.Mass(out.Moisture.Value*units.Micron, o.Volume, float64(o.Gas)); err == nil {
			grams = kg * units.Kilo
		}
		out.Flow, out.StdCC, out.WaterGrams = &through, &cc, &grams
		air := gasflow.Drive{Gas: gasflow.Air(gasflow.Room), Inside: float64(o.Outside)}
		for _, r := range o.Refrigerants {
			mid, err := size.Of(r, o.Working, flow, air, o.Outside)
			if err != nil { // a refrigerant that has no vapour at the comparison's temperature is left out
				continue
			}
			most := gasflow.FromThroughput(out.Leak.High*units.Micron*o.Volume/60, float64(o.Gas))
			high, err := size.Of(r, o.Working, most, air, o.Outside)
			if err != nil {
				continue
			}
			out.Leaks, out.LeaksHigh = append(out.Leaks, mid), append(out.LeaksHigh, high)
		}
	}
	out.Unseen, out.TightBelow = size.Largest(out.LeaksHigh), size.TightBelow(o.Charge)
	if out.Verdict == Undecided {
		return out
	}
	leak, noLeak := out.PLeak >= threshold.RiseSure, out.PLeak <= 1-threshold.RiseSure
	wet, noWet := out.PMoisture >= threshold.RiseSure, out.PMoisture <= 1-threshold.RiseSure
	end := float64(out.Last)
	tolerance := float64(o.GaugeAbs) + o.GaugeRel*end
	switch {
	case leak && wet:
		out.Verdict = Both
	case leak && out.PMoisture < threshold.RiseOpen:
		out.Verdict = Leak
		if !noWet {
			out.Findings = append(out.Findings, MoistureNotExcluded)
		}
	case wet && out.PLeak < threshold.RiseOpen:
		out.Verdict = Moisture
		if !noLeak {
			out.Findings = append(out.Findings, LeakNotExcluded)
		}
	case leak:
		out.Verdict, out.Reason = Undecided, MoistureNotExcluded
	case wet:
		out.Verdict, out.Reason = Undecided, LeakNotExcluded
	case !noLeak || !noWet:
		out.Verdict, out.Reason = Undecided, LineOrLevelling
	case float64(first.Pressure)-end > 2*tolerance:
		out.Verdict, out.Reason = Undecided, PressureFalls
	case pr.Target > 0 && float64(first.Pressure) > pr.Target*units.Micron*(1+o.GaugeRel)+float64(o.GaugeAbs):
		out.Verdict, out.Reason = Undecided, TargetNotReached
	case end > pr.Accept*units.Micron*(1+1e-9):
		out.Verdict, out.Reason = Undecided, AboveAccept
	case out.Span < pr.Hold-1e-9:
		out.Verdict, out.Reason = Undecided, HoldNotOver
	case o.Coldest == 0:
		out.Verdict, out.Reason = CannotProveDry, ColdestUnknown
	case end+tolerance >= least:
		out.Verdict, out.Reason = CannotProveDry, TooColdForDry
	case size.Tight(out.Unseen, out.TightBelow):
		out.Verdict = DryAndTight
	default:
		out.Verdict = DryNoLeakSeen
	}
	if !leak && out.Leak.Low > 0.1*out.AllowedLeak {
		out.Findings = append(out.Findings, SmallStraightRise)
	}
	return out
}
