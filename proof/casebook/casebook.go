package casebook

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"coldwright/num"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/units"
	"coldwright/water"
)

// StandingQuality is how often the standing-pressure test is right on simulated tests.
type StandingQuality struct {
	N        int
	Tight    [3]int  // tight machines: called tight, undecided, leaking
	Large    [3]int  // losses at or above the one asked about: called tight, undecided, leaking
	Small    [3]int  // losses below it
	Coverage float64 // 90 % intervals that hold the true change
	Squared  float64 // mean squared error of the change over its squared standard uncertainty: 1 where it is honest
	Seen     float64 // losses as large as the smallest the test said it could see, called leaking
	Long     [3]int  // tight machines held 12 h or more
	LongLeak [3]int  // losses above the one asked about, held 12 h or more
}

// VacuumCount counts verdicts: right; one of two causes found and the other named as open; undecided; wrong.
type VacuumCount struct{ Right, Part, Undecided, Wrong int }

// VacuumQuality is how often the rise test is right on simulated tests, by truth: tight, leak, moisture, both.
type VacuumQuality struct {
	N          int
	All        [4]VacuumCount
	Long       [4]VacuumCount // held 40 minutes or more, and three time constants of the moisture that is there
	LeakIn     float64        // 90 % intervals that hold the true straight part
	MoistureIn float64        // and the true levelling part
}

// LogQuality is how often the cold record is right on simulated records.
type LogQuality struct {
	N              int
	StartIn, EndIn float64 // brackets with the logger's tolerance that hold the true crossing
	PlainIn        float64 // brackets by the readings as they stand, from a logger without error
	Missed         int     // true excursions of which the record says nothing
	ProductIn      float64 // 90 % intervals that hold the product's true minutes above the limit
	DefrostFound   float64 // true defrosts recognised, where they come back at equal times
	DefrostFalse   int     // defrosts recognised in records that have none
}

// Quality of all three.
type Quality struct {
	Standing StandingQuality
	Vacuum   VacuumQuality
	Log      LogQuality
}

// Evaluate simulates n tests of each kind and judges them.
//
//   - in: seed; number of tests of each kind
//   - out: how often the verdicts are right, wrong and undecided, and how often intervals hold the truth
//   - errors: of the judgements; none on these tests
//   - source: our own simulations (see the simulate functions for what is drawn), not field data
//   - cost: about 15 ms a test of each kind
func Evaluate(seed uint64, n int) (q Quality, err error) {
	if q.Standing, err = evaluateStanding(rand.New(rand.NewPCG(seed, 1)), n); err != nil {
		return q, err
	}
	if q.Vacuum, err = evaluateVacuum(rand.New(rand.NewPCG(seed, 2)), n); err != nil {
		return q, err
	}
	q.Log, err = evaluateLog(rand.New(rand.NewPCG(seed, 3)), n)
	return q, err
}

func evaluateStanding(rng *rand.Rand, n int) (q StandingQuality, err error) {
	in, seen := 0, 0
	for k := range n {
		hours := math.Exp(rng.Float64() * math.Log(24))
		looks := 2 + rng.IntN(20)
		share := 0.0
		if k%2 == 1 {
			share = 0.005 * math.Exp(rng.Float64()*math.Log(60))
		}
		p, truth := SimulateStanding(rng, share, hours, looks)
		h, err := standing.Judge(p, standing.Options{Gauge: true})
		if err != nil {
			return q, err
		}
		at := map[standing.Verdict]int{standing.TightWithin: 0, standing.NoLeakSeen: 0, standing.Undecided: 1, standing.Leaking: 2}[h.Verdict]
		switch {
		case share == 0:
			q.Tight[at]++
			if hours >= 12 {
				q.Long[at]++
			}
		case share >= h.AskedShare:
			q.Large[at]++
			if hours >= 12 {
				q.LongLeak[at]++
			}
		default:
			q.Small[at]++
		}
		if h.Low <= truth && truth <= h.High {
			in++
		}
		z := (h.Change.Value - truth) / h.Change.U
		q.Squared += z * z / float64(n)
		p, _ = SimulateStanding(rng, h.SmallestShare, hours, looks)
		if h, err = standing.Judge(p, standing.Options{Gauge: true}); err != nil {
			return q, err
		}
		if h.Verdict == standing.Leaking {
			seen++
		}
	}
	q.N = n
	q.Coverage, q.Seen = float64(in)/float64(n), float64(seen)/float64(n)
	return q, nil
}

// vacuumTruth is what a simulated rise test was drawn with: micron, minutes.
type vacuumTruth struct{ a, b, tau, gives, giveTau, minutes, coldest float64 }

// levels is the true levelling part after m minutes.
func (tr *vacuumTruth) levels(m float64) float64 {
	return tr.b*(1-math.Exp(-m/tr.tau)) + tr.gives*(1-math.Exp(-m/tr.giveTau))
}

// simulateVacuum draws a rise test: kind 0 tight, 1 leak (1.5 to 100 micron a minute), 2 moisture (more than 250 micron
// within the test's hold, as far as the coldest part lets it), 3 both. Every volume gives off a little gas at first
// (up to 40 micron). Gauge off by up to a tenth, each look by 1 % and 2 micron.
func simulateVacuum(rng *rand.Rand, kind int) ([]vacuum.Point, vacuumTruth) {
	tr := vacuumTruth{
		minutes: 10 * math.Exp(rng.Float64()*math.Log(9)),
		coldest: 5 + 20*rng.Float64(),
		tau:     2 * math.Exp(rng.Float64()*math.Log(30)),
	}
	every := []float64{0.5, 1, 2, 5}[rng.IntN(4)]
	p0 := 100 + 200*rng.Float64()
	if kind == 1 || kind == 3 {
		tr.a = 1.5 * math.Exp(rng.Float64()*math.Log(100/1.5))
	}
	if kind >= 2 {
		hold := math.Max(tr.minutes, vacuum.DefaultProfile().Hold)
		ceiling := water.Curve(float64(units.Celsius(tr.coldest)))/units.Micron - p0
		low := 250 / (1 - math.Exp(-hold/tr.tau))
		tr.b = math.Min(ceiling, low*math.Exp(rng.Float64()*math.Log(20)))
	}
	tr.gives, tr.giveTau = 40*rng.Float64(), 3+7*rng.Float64()
	scale := 1 + 0.1*(2*rng.Float64()-1)
	var out []vacuum.Point
	for m := 0.0; m <= tr.minutes+1e-9; m += every {
		p := p0 + tr.a*m + tr.levels(m)
		p *= scale
		p += math.Hypot(2, 0.01*p) * rng.NormFloat64()
		out = append(out, vacuum.Point{Minute: m, Pressure: units.Pressure(math.Max(0, math.Round(p)) * units.Micron)})
	}
	tr.minutes = out[len(out)-1].Minute
	return out, tr
}

func evaluateVacuum(rng *rand.Rand, n int) (q VacuumQuality, err error) {
	q.N = n
	leakIn, wetIn := 0, 0
	for k := range n {
		kind := k % 4
		p, tr := simulateVacuum(rng, kind)
		r, err := vacuum.Judge(p, vacuum.Options{Coldest: units.Celsius(tr.coldest)})
		if err != nil {
			return q, err
		}
		count := func(c *VacuumCount) {
			said := map[vacuum.Verdict]int{
				vacuum.DryAndTight: 0, vacuum.DryNoLeakSeen: 0, vacuum.CannotProveDry: 0,
				vacuum.Leak: 1, vacuum.Moisture: 2, vacuum.Both: 3, vacuum.Undecided: -1,
			}[r.Verdict]
			open := slices.Contains(r.Findings, vacuum.LeakNotExcluded) || slices.Contains(r.Findings, vacuum.MoistureNotExcluded)
			switch {
			case said < 0:
				c.Undecided++
			case said == kind:
				c.Right++
			case kind == 3 && open:
				c.Part++
			default:
				c.Wrong++
			}
		}
		count(&q.All[kind])
		if tr.minutes >= 40 && (tr.b == 0 || tr.minutes >= 3*tr.tau) {
			count(&q.Long[kind])
		}
		if r.Leak.Low <= tr.a && tr.a <= r.Leak.High {
			leakIn++
		}
		if b := tr.levels(r.Horizon); r.Moisture.Low <= b && b <= r.Moisture.High {
			wetIn++
		}
	}
	q.LeakIn, q.MoistureIn = float64(leakIn)/float64(n), float64(wetIn)/float64(n)
	return q, nil
}

// logTruth is what a simulated record was drawn with.
type logTruth struct {
	start, end time.Time // of the one excursion
	peak       float64   // °C
	product    float64   // minutes above the limit
	defrosts   int
	every      float64 // minutes
}

// The spread from which a simulated product's time constant is drawn, minutes: the one the judgement assumes.
const (
	lagMedian = 120.0
	lagSpread = 0.65
)

// simulateLog writes a record of three days in the file of some logger: a cooler about 3 °C below its limit that
// cycles, defrosts that come back by the clock (or none), doors, and one excursion of one to twelve hours. The logger
// is off by up to tol and rounds to a tenth; with tol 0 it is perfect. The product follows with a time constant from
// the assumed spread through a shell a fifth as slow, which the judgement does not know.
func simulateLog(rng *rand.Rand, limit, tol float64, defrosts bool) ([]byte, logTruth) {
	begin := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(rng.IntN(1440)) * time.Minute)
	step := []int{1, 2, 5, 10, 15}[rng.IntN(5)]
	const total = 3 * 1440
	var tr logTruth
	if defrosts {
		tr.every = []float64{360, 480, 720}[rng.IntN(3)]
	}
	length := 15 + 15*rng.Float64()
	rise := 2.5 + 2*rng.Float64()
	first := 60 + 200*rng.Float64()
	at := 900 + rng.Float64()*(total-2600)
	hours := 60 * (1 + 11*rng.Float64())
	height := 4 + 8*rng.Float64()
	tau := lagMedian * math.Exp(lagSpread*rng.NormFloat64())
	doors := map[int]float64{}
	for range rng.IntN(12) {
		doors[rng.IntN(total)] = 1 + rng.Float64()
	}
	bias := tol * (2*rng.Float64() - 1)
	base := limit - 4.5 - tol
	product, shell := base, base
	door := 0.0
	fault := 0.0
	var run time.Time // since when the air has been above the limit
	var b bytes.Buffer
	b.WriteString("Date;Time;Air (°C)\n")
	for m := range total {
		if x := float64(m); x >= at && x < at+hours {
			fault += (height - fault) / 40
		} else {
			fault -= fault / 25
		}
		if d, ok := doors[m]; ok {
			door = d
		}
		door *= 0.8
		air := base + 0.6*math.Sin(2*math.Pi*float64(m)/17) + fault + door
		if tr.every > 0 {
			if x := math.Mod(float64(m)-first+tr.every, tr.every); x < length {
				air += rise * math.Sin(math.Pi*x/length)
				if float64(m) >= first && x < 1 {
					tr.defrosts++
				}
			}
		}
		shell += (air - shell) / (tau / 5)
		product += (shell - product) / tau
		if product > limit {
			tr.product++
		}
		now := begin.Add(time.Duration(m) * time.Minute)
		switch {
		case air <= limit:
			run = time.Time{}
		case run.IsZero():
			run = now
		}
		if air > limit && (fault > 1 || !tr.start.IsZero()) {
			if tr.start.IsZero() {
				tr.start = run
			}
			if fault > 1 {
				tr.end = now.Add(time.Minute)
			}
			tr.peak = math.Max(tr.peak, air)
		}
		if m%step == 0 && rng.Float64() > 0.002 {
			digits := 1
			if tol == 0 {
				digits = 6
			}
			fmt.Fprintf(&b, "%s;%.*f\n", now.Format("02.01.2006;15:04"), digits, air+bias)
		}
	}
	return b.Bytes(), tr
}

func evaluateLog(rng *rand.Rand, n int) (q LogQuality, err error) {
	q.N = n
	limit := units.Celsius(5)
	var start, end, plain, product, found, there int
	count, perfect := 0, 0
	for k := range n {
		for _, tol := range []float64{1, 0} {
			b, tr := simulateLog(rng, limit.C(), tol, k%3 != 0)
			o := templog.Options{Limit: limit, Tolerance: units.TempDiff(tol + 0.05), Dates: templog.DayFirst}
			r, err := templog.Judge(func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }, o)
			if err != nil {
				return q, err
			}
			if tr.start.IsZero() || tr.peak < limit.C()+tol+1 {
				continue // nothing that this logger must show
			}
			within := func(b templog.Bracket, t time.Time) bool {
				return !t.Before(b.After) && (b.Before.IsZero() || !t.After(b.Before))
			}
			hitStart, hitEnd, hitPlain, hit := false, false, false, false
			for _, e := range r.Excursions {
				hit = hit || e.Start.Before.Before(tr.end.Add(time.Hour)) && (e.End.Before.IsZero() || e.End.Before.After(tr.start))
				hitStart = hitStart || within(e.WideStart, tr.start)
				hitEnd = hitEnd || within(e.WideEnd, tr.end)
				hitPlain = hitPlain || within(e.Start, tr.start)
			}
			if tol == 0 {
				perfect++
				if hitPlain {
					plain++
				}
				continue
			}
			count++
			if !hit {
				q.Missed++
			}
			if hitStart {
				start++
			}
			if hitEnd {
				end++
			}
			if r.ProductMinutes.Low-1 <= tr.product && tr.product <= r.ProductMinutes.High+1 {
				product++
			}
			if tr.every > 0 {
				there += tr.defrosts
				found += min(r.Defrosts.Count, tr.defrosts)
			} else {
				q.DefrostFalse += r.Defrosts.Count
			}
		}
	}
	share := func(a, b int) float64 { return float64(a) / math.Max(1, float64(b)) }
	q.StartIn, q.EndIn, q.PlainIn, q.ProductIn, q.DefrostFound = share(start, count), share(end, count), share(plain, perfect),
		share(product, count), share(found, there)
	return q, nil
}

// SimulateStanding draws a standing-pressure test: 300 psig, gas temperature swinging with the day, a loss of share per
// day (0 is tight), with looks at equal intervals. Noise as an instrument shows it: gauge to a fifth of a psi,
// thermometer 0.3 K, gas that lags or leads its thermometer by a tenth, weather. It returns the readings and the true
// change, Pa at the first temperature. The gas is ideal here, so that the engine's equation is not its own judge.
func SimulateStanding(rng *rand.Rand, share, hours float64, looks int) ([]standing.Point, float64) {
	const p0 = 300*units.Psi + num.StandardAtmosphere
	t0 := 285 + 20*rng.Float64()
	amp, phase, trend := 6*rng.Float64(), 2*math.Pi*rng.Float64(), 4*rng.NormFloat64()
	follow := 1 + 0.1*rng.NormFloat64()
	drift := 0.1 * units.Psi * rng.NormFloat64()
	swing := func(h float64) float64 {
		return amp*(math.Sin(2*math.Pi*h/24+phase)-math.Sin(phase)) + trend*(1-math.Exp(-h/6))
	}
	var out []standing.Point
	weather := 0.0
	for k := range looks {
		f := float64(k) / float64(looks-1)
		h := hours * f
		if k > 0 {
			weather += 1e3 * math.Sqrt(hours/float64(looks-1)/24) * rng.NormFloat64()
		}
		dT := swing(h)
		p := p0*math.Exp(-share*h/24)*(t0+follow*dT)/t0 + drift*f + weather + 0.35*units.Psi*rng.NormFloat64()
		p = math.Round((p-num.StandardAtmosphere)/(0.2*units.Psi))*0.2*units.Psi + num.StandardAtmosphere
		out = append(out, standing.Point{
			Minute: h * 60, Pressure: units.Pressure(p), Gas: []units.Temp{units.Temp(t0 + dT + 0.3*rng.NormFloat64())},
		})
	}
	return out, p0 * (math.Exp(-share*hours/24) - 1)
}
