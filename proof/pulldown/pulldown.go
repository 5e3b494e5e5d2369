package pulldown

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"coldwright/fail"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// Point is the box (and the product, where known) at a minute since the start.
type Point struct {
	Minute  float64
	Box     units.Temp
	Product *units.Temp
}

// Verdict of a pull-down.
type Verdict int

// The verdicts.
const (
	Unknown Verdict = iota
	TooShort
	Reached
	Falling
	Undecided
	Slow
	Stalled
	Warming
)

func (v Verdict) String() string {
	return [...]string{"unknown", "too_short", "reached", "falling", "undecided", "slow", "stalled", "warming"}[v]
}

// MarshalText writes the word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Options of a pull-down; zero values are the documented defaults.
type Options struct {
	SetPoint units.Temp
	Noise    units.TempDiff // of one reading, standard deviation; 0: learned from many, of few 0.7 °F and rounding to a degree
	// Another pull-down of the same box: the one before the work on it (these points are from after it), or the one after
	// it. It is compared with, and moves what is believed of the machine.
	Earlier, Later []Point
	// What the circuit's readings say the machine may be today, without this curve; none: what machines somebody times are.
	Machine []Machine
	// No control stops the machine at the set point: it is out of the way for the test, or stands colder.
	RunsOn bool
	// What the room needs; none: what rooms need. Machine has its own.
	Loads  []Share
	outrun bool    // the later one fell faster
	cured  float64 // probability that this one falls faster than the earlier one
}

// Band is a forecast: 5, 50, 95 % at a minute counted from the last reading.
type Band struct {
	Minute         float64
	Low, Mid, High units.Temp
	There          float64 // probability that the box has been at its set point by then; only of the forecast
}

// Interval is 5, 50, 95 %.
type Interval struct{ Low, Mid, High float64 }

// Result is the answer.
type Result struct {
	Verdict    Verdict
	N          int
	Span       float64        // minutes from the first to the last point
	Last       units.Temp     // last reading
	RateLast   units.TempDiff // K per hour over the last stretch, negative is falling
	Forecast   []Band         // at +60, +120, +360 min
	Curve      []Band         // the same, dense, for the figure; Minute counted from the first reading
	PReaches6h float64
	PWell      float64     // probability of falling well: the set point within 6 h, and enough of the way in the next one
	DecidesAt  float64     // where that is undecided: the minute, by the zero of the points, of the reading that decides it
	ToSetPoint *Interval   // minutes from the last reading; nil when less likely than not within 24 h
	Reason     string      // code: why too short, or by what else than these readings the verdict was formed
	Against    *Comparison // with the other pull-down; nil without one or where the two share no temperatures
}

// Judge judges a pull-down.
//
//   - in: points in any order, minutes from any zero; set point, K
//   - out: verdict, rate, forecast with 90 % bands, probability of the set point within 6 h
//   - errors: [*fail.Error]: no points, repeated minutes, temperatures that cannot be
//   - assumes: doors shut and the machine running while it is read; a rise at once is taken for a door or a defrost. The
//     bands are of the air at that minute, with what a control, a door or a defrost may do to it; the probability and the
//     minutes are of the running machine
//   - source: doc.go of this package; verdicts are common practice, no source (package verdict/threshold)
//   - cost: about 30 ms, of 3 or of 10,000 points
func Judge(points []Point, o Options) (Result, error) {
	pts, err := inOrder(points)
	if err != nil {
		return Result{}, err
	}
	last := pts[len(pts)-1]
	first := slices.MinFunc(points, func(a, b Point) int { return cmp.Compare(a.Minute, b.Minute) }).Minute
	set := float64(o.SetPoint)
	out := Result{N: len(pts), Span: last.Minute, Last: last.Box}
	out.RateLast = units.TempDiff(rate(pts))
	switch {
	case last.Box <= o.SetPoint+units.Temp(0.5*units.Fahr) && len(pts) > 1:
		out.Verdict = Reached
	case len(pts) < 3:
		out.Verdict, out.Reason = TooShort, "fewer_than_three_points"
	case last.Minute < 10:
		out.Verdict, out.Reason = TooShort, "shorter_than_ten_minutes"
	}
	if len(pts) < 2 {
		return out, nil
	}
	var f *forecast
	if f, out.Against, err = o.foretellBeside(pts); err != nil {
		return Result{}, err
	}
	out.PReaches6h, out.ToSetPoint = f.arrives()
	for _, m := range []float64{60, 120, 360} {
		b := f.at(m, m)
		b.There = f.there(m)
		out.Forecast = append(out.Forecast, b)
	}
	end := last.Minute + 120
	for k := 0; k <= 24; k++ {
		t := end * float64(k) / 24
		out.Curve = append(out.Curve, f.at(t-last.Minute, t))
	}
	if out.Verdict == Unknown {
		enough := enoughNextHour(float64(last.Box) - set)
		well := f.fallsWell(float64(last.Box) - enough)
		out.PWell = share(well)
		if out.Verdict = verdict(&out, float64(last.Box)-f.running(60), enough); out.Verdict == Undecided {
			out.DecidesAt = math.Ceil(first + last.Minute + f.decides(well))
		}
		switch c := out.Against; {
		case c == nil:
		case len(o.Later) > 0 && out.Verdict != Falling && c.Faster.Low > 1:
			out.Reason = FellFasterAfter
		case len(o.Earlier) > 0 && out.Verdict == Falling && c.PFaster >= threshold.PullHolds:
			out.Reason = FallsFasterNow
		}
	}
	return out, nil
}

// inOrder returns the points by time, from minute 0.
func inOrder(points []Point) ([]Point, error) {
	if len(points) == 0 {
		return nil, fail.Of(fail.Required, "points", "pulldown.no_reading", nil)
	}
	pts := slices.Clone(points)
	slices.SortStableFunc(pts, func(a, b Point) int { return cmp.Compare(a.Minute, b.Minute) })
	for i, p := range pts {
		if math.IsNaN(p.Minute) || math.IsInf(p.Minute, 0) || !(p.Box > 180 && p.Box < 340) {
			return nil, fail.Of(fail.Range, fmt.Sprintf("point %d", i+1), "pulldown.box_at",
				fail.Args{"box": p.Box, "minute": p.Minute})
		}
		if i > 0 && p.Minute == pts[i-1].Minute {
			return nil, fail.Of(fail.BadData, fmt.Sprintf("minute %g", p.Minute), "test.minute_repeated", nil)
		}
	}
	zero := pts[0].Minute
	for i := range pts {
		pts[i].Minute -= zero
	}
	return pts, nil
}

// enoughNextHour is what a box that falls well covers in the next hour, K, of the gap to its set point.
func enoughNextHour(gap float64) float64 {
	return math.Max(threshold.PullNextHour*gap, math.Min(threshold.PullShortWay*gap, threshold.PullShort))
}

// verdict puts the forecast into a word; next is what the running machine likely covers in the next hour.
func verdict(p *Result, next, enough float64) Verdict {
	perHour := float64(p.RateLast)
	switch {
	case perHour > threshold.PullWarmer:
		return Warming
	case perHour > -threshold.PullFlat && next < threshold.PullFlat:
		return Stalled
	case p.PReaches6h >= threshold.PullHolds && next >= enough:
		return Falling
	case p.PWell >= threshold.PullMisses:
		return Undecided
	}
	return Slow
}

// rate is the slope over the last third of the test (at least the last three points), K per hour.
func rate(pts []Point) float64 {
	n := len(pts)
	if n < 2 {
		return 0
	}
	k := n - 2
	for k > 0 && (n-k < 3 || pts[n-1].Minute-pts[k].Minute < pts[n-1].Minute/3) {
		k--
	}
	if n == 3 && k == 0 { // three points: the last stretch, not the first drop
		k = 1
	}
	var sx, sy, sxx, sxy float64
	m := float64(n - k)
	for _, p := range pts[k:] {
		sx += p.Minute
		sy += float64(p.Box)
		sxx += p.Minute * p.Minute
		sxy += p.Minute * float64(p.Box)
	}
	d := m*sxx - sx*sx
	if d == 0 {
		return 0
	}
	return 60 * (m*sxy - sx*sy) / d
}
