package pulldown

import (
	"math"
	"math/rand/v2"
	"slices"

	"coldwright/units"
	"coldwright/verdict/threshold"
)

// futures is how many courses are followed from the last reading on. They come from the sum over all curves, each as
// often as it is probable, so each counts alike.
const futures = 2000

// The control of a box, K: it cuts out somewhat under its set point and lets the air swing. Judgement, ours: "set point"
// is cut-out, cut-in or the middle. Where the readings show the box farther under it than that, the machine most likely
// runs on.
const (
	stillControlled  = 0.25
	cutUnder         = 1.5
	swingLo, swingHi = 1.0, 3.0
)

// A door opened or a defrost stands above the forecast: how often it is so at a time nobody chose, and how much warmer
// the air then is, K, exponential. Judgement, ours: three defrosts a day of 25 minutes with as much to recover, 3 to 8 K
// at the thermometer; a door 2 to 6 K with 10 minutes to recover, as often as the readings show it.
const (
	defrosting, defrostRise = 0.08, 4.0
	doorMinutes, doorRise   = 6.0, 2.5
	doorsPrior              = 0.1 // openings
	doorsPriorMinutes       = 30.0
)

// creep is what frost on the coil does between defrosts and the day outside does to the load: the air wanders by as much
// in hours, K, and no reading of an hour shows it. Judgement, ours; the return air of a display case with eight defrosts
// a day (package's test) creeps up 0.7 K between them.
const (
	creep        = 0.4
	creepMinutes = 30.0
)

// course is one future.
type course struct {
	end, fast, lining, slow float64 // as of the last reading, K
	tau                     [3]float64
	res, resTau, resSd      float64
	cut, swing, where       float64    // control; where in its swing it will be found
	u, above                [3]float64 // new residual, and what a door or a defrost adds, at each time forecast
}

// running is the air without its residual, doors shut, m minutes after the last reading.
func (c *course) running(m float64) float64 {
	return c.end + c.fast*math.Exp(-m/c.tau[0]) + c.lining*math.Exp(-m/c.tau[1]) + c.slow*math.Exp(-m/c.tau[2])
}

// air is the air as a thermometer without error would show it.
func (c *course) air(m float64) float64 {
	f := math.Exp(-math.Abs(m) / c.resTau)
	// The new part of the residual goes along three courses, one for each time forecast, and between them for the figure.
	k := 0
	switch {
	case m > 200:
		k = 2
	case m > 90:
		k = 1
	}
	t := c.running(m)
	if m > 0 && math.Min(t, c.lowest(m)) < c.cut {
		return c.cut + c.swing*c.where + c.above[k]
	}
	if m > 0 {
		t += c.above[k]
	}
	t += f*c.res + math.Hypot(c.resSd*math.Sqrt(1-f*f), creep*(1-math.Exp(-math.Max(m, 0)/creepMinutes)))*c.u[k]
	if m > 0 {
		t = math.Max(t, c.cut) // colder it would have been stopped
	}
	return t
}

// lowest is the lowest that the running air was on the way, where it is looked at.
func (c *course) lowest(m float64) float64 {
	return math.Min(c.running(0.25*m), math.Min(c.running(0.5*m), c.running(0.75*m)))
}

// reaches is the first minute at which the air is at the set point, +Inf within a day for never.
func (c *course) reaches(set float64) float64 {
	at := func(m float64) bool { return c.running(m)+c.res*math.Exp(-m/c.resTau) <= set }
	if at(0) {
		return 0
	}
	prev := 0.0
	for _, t := range []float64{5, 10, 15, 20, 30, 40, 60, 90, 120, 180, 240, 300, 360, 480, 600, 720, 900, 1080, 1260, 1440} {
		if at(t) {
			a, b := prev, t
			for range 12 {
				if m := 0.5 * (a + b); at(m) {
					b = m
				} else {
					a = m
				}
			}
			return b
		}
		prev = t
	}
	return math.Inf(1)
}

// forecast is all courses.
type forecast struct {
	set     float64
	noise   float64 // of one reading, K
	courses []course
	minutes []float64 // to the set point, course by course
}

// foretellBeside fits the points, with the other pull-down of the box where there is one.
func (o *Options) foretellBeside(pts []Point) (*forecast, *Comparison, error) {
	other, later := o.Earlier, false
	if len(o.Later) > 0 {
		other, later = o.Later, true
	}
	if len(other) == 0 {
		return foretell(pts, o), nil, nil
	}
	beside, err := inOrder(other)
	if err != nil {
		return nil, nil, err
	}
	if later {
		c := compare(pts, beside, o)
		// Where the work made it faster, the box before it was no sound one.
		o.outrun = c != nil && c.Faster.Low > 1
		return foretell(pts, o), c, nil
	}
	c := compare(beside, pts, o)
	if c != nil {
		o.cured = c.PFaster
	}
	return foretell(pts, o), c, nil
}

// foretell fits the points and draws courses with a fixed seed.
func foretell(pts []Point, o *Options) *forecast {
	start := float64(pts[0].Box)
	var product *float64
	if p := pts[0].Product; p != nil {
		v := float64(*p)
		product = &v
	}
	noise := scatter(pts, float64(o.Noise))
	ls := looks(pts, noise)
	all := infer(sumsOf(ls, start), o.endsBeside(pts), start, product)
	span := ls[len(ls)-1].minute - ls[0].minute
	late := pts[len(pts)-1].Minute - ls[len(ls)-1].minute // of a mean of several, the last reading is after its minute
	lowest := ls[0].temp
	jumps := 0.0
	for i, l := range ls {
		lowest = math.Min(lowest, l.temp)
		if l.jump > 0 && (i == 0 || ls[i-1].jump == 0) {
			jumps++
		}
	}
	door := math.Min(0.4, doorMinutes*(doorsPrior+jumps)/(doorsPriorMinutes+span))
	control := 1.0
	switch {
	case o.RunsOn:
		control = 0
	case lowest < float64(o.SetPoint)-cutUnder:
		control = stillControlled
	}
	rng := rand.New(rand.NewPCG(2026, 8))
	f := &forecast{set: float64(o.SetPoint), noise: noise, courses: make([]course, 0, futures)}
	i, sum := 0, all[0].weight
	for n := range futures {
		for target := (float64(n) + 0.5) / futures; sum < target && i < len(all)-1; {
			i++
			sum += all[i].weight
		}
		a := &all[i]
		var u vec
		for j := range u {
			u[j] = rng.NormFloat64()
		}
		c := back(&a.factor, u)
		for j := range c {
			c[j] += a.mean[j]
		}
		r := a.noise
		now := r.data - r.one*c[0]
		for j := range 3 {
			now -= r.of[a.at[j]] * c[j+1]
		}
		now += math.Sqrt(r.variance) * rng.NormFloat64()
		at := span + late
		x := course{
			end: start + c[0], fast: c[1] * math.Exp(-at/a.tau[0]), lining: c[2] * math.Exp(-at/a.tau[1]), slow: c[3] * math.Exp(-at/a.tau[2]),
			tau: a.tau, res: now * math.Exp(-late/r.tau), resTau: r.tau, resSd: r.sd,
			u: [3]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()},
		}
		for k := range x.above {
			switch p := rng.Float64(); {
			case p < defrosting:
				x.above[k] = defrostRise * rng.ExpFloat64()
			case p < defrosting+door:
				x.above[k] = doorRise * rng.ExpFloat64()
			}
		}
		x.cut = math.Inf(-1)
		if rng.Float64() < control {
			x.cut = f.set - cutUnder*rng.Float64()
			x.swing, x.where = swingLo+(swingHi-swingLo)*rng.Float64(), rng.Float64()
			if lowest < x.cut {
				x.cut = lowest - cutUnder*rng.Float64()
			}
		}
		f.courses = append(f.courses, x)
	}
	return f
}

// at is the band m minutes from the last reading.
func (f *forecast) at(m, label float64) Band {
	v := make([]float64, len(f.courses))
	for i := range v {
		v[i] = f.courses[i].air(m)
	}
	slices.Sort(v)
	q := func(p float64) units.Temp { return units.Temp(v[int(p*float64(len(v)-1)+0.5)]) }
	return Band{label, q(0.05), q(0.5), q(0.95), 0}
}

// there is the probability that the box has been at its set point within m minutes: the same courses as the bands, with
// neither what a door or a defrost adds nor what the control does once it is there. Asked after arrives.
func (f *forecast) there(m float64) float64 {
	n := 0
	for _, at := range f.minutes {
		if at <= m {
			n++
		}
	}
	return float64(n) / float64(len(f.minutes))
}

// running is the middle of the running machine's courses, m minutes from the last reading.
func (f *forecast) running(m float64) float64 {
	v := make([]float64, len(f.courses))
	for i := range v {
		c := &f.courses[i]
		v[i] = c.running(m) + c.res*math.Exp(-m/c.resTau)
	}
	slices.Sort(v)
	return v[len(v)/2]
}

// arrives is the probability of the set point within six hours, and the minutes to it where it is likelier than not
// within a day.
func (f *forecast) arrives() (float64, *Interval) {
	f.minutes = make([]float64, len(f.courses))
	for i := range f.minutes {
		f.minutes[i] = f.courses[i].reaches(f.set)
	}
	v := slices.Sorted(slices.Values(f.minutes))
	p := f.there(360)
	q := func(p float64) float64 { return math.Min(threshold.PullDay, v[int(p*float64(len(v)-1)+0.5)]) }
	if q(0.5) >= threshold.PullDay {
		return p, nil
	}
	return p, &Interval{q(0.05), q(0.5), q(0.95)}
}

// fallsWell says of each course whether the running machine reaches the set point within six hours and stands at level
// or under it in one; asked after arrives.
func (f *forecast) fallsWell(level float64) []bool {
	out := make([]bool, len(f.courses))
	for i := range out {
		c := &f.courses[i]
		in60 := c.running(60) + c.res*math.Exp(-60/c.resTau)
		out[i] = f.minutes[i] <= 360 && (f.minutes[i] <= 60 || in60 <= level)
	}
	return out
}

func share(of []bool) float64 {
	n := 0
	for _, v := range of {
		if v {
			n++
		}
	}
	return float64(n) / float64(len(of))
}

// decides is in how many minutes one reading is expected to tell the courses that fall well from the others: the first
// time at which their middles stand far enough apart, in the spread of a reading. The last one is an hour, when the hour
// in question is over.
//
//   - source: two normals d standard deviations apart tell for or against by d²/2 nats in the mean (Kullback 1959)
func (f *forecast) decides(well []bool) float64 {
	times := []float64{5, 10, 15, 20, 30, 45, 60}
	for _, m := range times {
		var v [2][]float64
		for i := range f.courses {
			k := 0
			if well[i] {
				k = 1
			}
			v[k] = append(v[k], f.courses[i].air(m))
		}
		var mid, spread [2]float64
		for k := range v {
			if len(v[k]) == 0 {
				return m
			}
			slices.Sort(v[k])
			q := func(p float64) float64 { return v[k][int(p*float64(len(v[k])-1)+0.5)] }
			mid[k], spread[k] = q(0.5), 0.5*(q(0.841)-q(0.159)) // doors and defrosts far above leave it alone
		}
		sd := math.Sqrt(0.5*(spread[0]*spread[0]+spread[1]*spread[1]) + f.noise*f.noise)
		if math.Abs(mid[0]-mid[1]) >= threshold.PullTells*sd {
			return m
		}
	}
	return times[len(times)-1]
}
