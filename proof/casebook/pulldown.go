package casebook

import (
	"math"
	"math/rand/v2"

	"coldwright/proof/pulldown"
	"coldwright/units"
)

// Box is a kind of simulated box.
type Box int

// The kinds: bodies of one to four parts that run all the time; three parts with a control, with doors opened, with
// defrosts.
const (
	OneBody Box = iota
	TwoBodies
	ThreeBodies
	FourBodies
	WithControl
	WithDoors
	WithDefrost
)

// Boxes lists them.
func Boxes() []Box {
	return []Box{OneBody, TwoBodies, ThreeBodies, FourBodies, WithControl, WithDoors, WithDefrost}
}

func (b Box) String() string {
	return [...]string{"one", "two", "three", "four", "control", "doors", "defrost"}[b]
}

// pullTruth is a simulated pull-down: the readings, and the air as it was afterwards.
type pullTruth struct {
	points []pulldown.Point
	set    float64
	after  func(minutes float64) float64 // air, K, minutes after the last reading
}

// simulatePull steps a box in heat flows: masses in kJ/K, conductances and powers in W. Nothing of it is the judged
// model's: powers are drawn evenly in ratio, the machine loses capacity by a square root, product freezes nowhere but
// has a shell, walls store heat and see an outside that swings with the day, readings have a sensor's lag and a slow
// drift of its own, and the machine may have run for a while before the first reading. A box that stalls ends 5 to 10
// °F above its set point.
func simulatePull(rng *rand.Rand, kind Box, stalls bool) pullTruth {
	uniform := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	ratio := func(a, b float64) float64 { return a * math.Exp(rng.Float64()*math.Log(b/a)) }
	set := float64(units.Fahrenheit([]float64{-10, -5, 0, 28, 34, 38}[rng.IntN(6)]))
	outside := float64(units.Fahrenheit(uniform(65, 95)))
	ua := ratio(4, 20)
	design := ua * (outside - set) * uniform(1.3, 2.5) // what the room takes at its set point, with people and doors
	excess := uniform(1.15, 1.7)                       // what the machine gives at the set point, of that
	lost := 1.0
	if rng.IntN(3) == 0 {
		lost = uniform(0.4, 1) // a machine that is not what it was
	}
	inner := design - ua*(outside-set)
	power := func(t float64) float64 {
		return design * excess * lost * math.Sqrt(math.Max(0.1, 1+0.055*(t-set)))
	}
	warm := uniform(6, 45) * units.Fahr
	if stalls { // the loss that makes it end there; it begins warm enough not to be colder inside
		x := uniform(5, 10) * units.Fahr
		warm += 16 * units.Fahr
		lost = (inner + ua*(outside-set-x)) / (design * excess * math.Sqrt(1+0.055*x))
	}
	air, lining, shell, core := ratio(30, 150), ratio(80, 600), ratio(100, 800), ratio(300, 6000)
	hl, hp, hc := ratio(40, 250), ratio(10, 80), ratio(20, 200)
	one := design / ratio(5, 40) * 3.6 // one body: 5 to 40 K an hour if all the load were taken out of it
	ta := set + warm
	tl, ts := ta-uniform(-1, 3), ta-uniform(-1, 6)
	tc := ts - uniform(-2, 4)
	phase := uniform(0, 2*math.Pi)
	running, coilHeat := true, 0.0
	door, nextDoor := 0.0, ratio(10, 120)
	defrost, nextDefrost := 0.0, uniform(5, 360)
	every := []float64{240, 360, 480}[rng.IntN(3)]
	swing := uniform(1, 3)
	through, melts := uniform(0.4, 1.3), uniform(0.05, 0.4)
	cut := set - uniform(0, 1.5)
	const dt = 0.1
	clock := 0.0
	step := func() {
		clock += dt
		q := 0.0
		if running && defrost <= 0 {
			q = power(ta)
		}
		if kind == WithControl || kind == WithDoors || kind == WithDefrost {
			if ta < cut {
				running = false
			} else if ta > cut+swing {
				running = true
			}
		}
		coilHeat = 0
		if kind == WithDefrost {
			nextDefrost -= dt
			if nextDefrost < 0 {
				defrost, nextDefrost = uniform(15, 30), every
			}
			if defrost > 0 {
				defrost -= dt
				coilHeat = melts * design // with the load still on, the air rises 3 to 8 K, in small boxes more
			}
		}
		if kind == WithDoors {
			nextDoor -= dt
			if nextDoor < 0 {
				door, nextDoor = uniform(0.3, 2), ratio(10, 120)
			}
		}
		exchange := 0.0
		if door > 0 {
			door -= dt
			exchange = through * air * (outside - ta) // W: 2 to 6 K in a minute
		}
		out := outside + 2*math.Sin(2*math.Pi*clock/1440+phase)
		s := dt * 60 / 1000 // kJ per W and step
		heat := inner + ua*(out-ta) - q + coilHeat + exchange
		switch kind {
		case OneBody:
			ta += s * heat / one
		case TwoBodies:
			f := hp * 2 * (ts - ta)
			ta += s * (heat + f) / air
			ts -= s * f / (shell + core)
		default:
			fl, fp := hl*(tl-ta), hp*(ts-ta)
			fc := hc * (tc - ts)
			if kind == ThreeBodies {
				fc = 0
				ts -= s * fp / (shell + core)
			} else {
				ts += s * (fc - fp) / shell
				tc -= s * fc / core
			}
			ta += s * (inner - q + coilHeat + exchange + fl + fp) / air
			tl += s * (ua*(out-tl) - fl) / lining
		}
	}
	ahead := 0.0
	if rng.IntN(2) == 0 {
		ahead = uniform(0, 60)
	}
	for clock < ahead {
		step()
	}
	// What is read: a few looks, looks for an hour or more, a logger.
	var length, gap, round, noise float64
	switch rng.IntN(4) {
	case 0:
		length, gap, round, noise = uniform(20, 32), uniform(6, 13), units.Fahr, 0.5*units.Fahr
	case 1:
		length, gap, round, noise = uniform(20, 60), uniform(3, 8), units.Fahr, 0.5*units.Fahr
	case 2:
		length, gap, round, noise = uniform(45, 180), uniform(1, 5), 0.1, 0.1
	default:
		length, gap, round, noise = uniform(60, 300), 0.2, 0.1, 0.15
	}
	lag := ratio(0.3, 3)
	sensor, drift := ta, 0.0
	var tr pullTruth
	begin, next := clock, clock
	for {
		if clock >= next-1e-9 {
			f := math.Exp(-gap / 15)
			drift = f*drift + 0.15*math.Sqrt(1-f*f)*rng.NormFloat64()
			v := sensor + drift + noise*rng.NormFloat64()
			v = math.Round((v-set)/round)*round + set
			tr.points = append(tr.points, pulldown.Point{Minute: clock - begin, Box: units.Temp(v)})
			next += gap
			if next > begin+length {
				break
			}
		}
		step()
		sensor += dt / lag * (ta - sensor)
	}
	at := clock
	var later []float64
	for clock < at+365 {
		later = append(later, ta)
		step()
	}
	tr.set = set
	tr.after = func(m float64) float64 { return later[min(len(later)-1, int(m/dt+0.5))] }
	return tr
}

// PullQuality is how often the judgement of a pull-down is right on simulated boxes of one kind.
type PullQuality struct {
	Box      Box
	N        int
	In       [3]float64                  // 90 % bands that hold the air at 1, 2 and 6 h
	Low      [3]float64                  // truths below their band
	Wide     [3]float64                  // mean width of the band, K
	Holds    [10][2]int                  // by stated probability of the set point within 6 h: boxes, of them there
	Verdicts map[pulldown.Verdict][2]int // boxes so called, of them at the set point within 6 h
	Stalling int                         // boxes that end above their set point,
	Falling  int                         // of them called falling
}

// EvaluatePull judges n simulated boxes of a kind, and n that stall.
//
//   - in: seed, number, kind
//   - out: how often bands hold, and what stalling boxes are called
//   - errors: of the judgement; none on these boxes
//   - source: our own simulation (see simulatePull for what is drawn), not field data
//   - cost: about 50 ms a box
func EvaluatePull(seed uint64, n int, kind Box) (PullQuality, error) {
	q := PullQuality{Box: kind, N: n, Verdicts: map[pulldown.Verdict][2]int{}}
	rng := rand.New(rand.NewPCG(seed, 40+uint64(kind)))
	for range n {
		tr := simulatePull(rng, kind, false)
		r, err := pulldown.Judge(tr.points, pulldown.Options{SetPoint: units.Temp(tr.set), RunsOn: kind < WithControl})
		if err != nil {
			return q, err
		}
		for k, b := range r.Forecast {
			x := units.Temp(tr.after(b.Minute))
			if b.Low <= x && x <= b.High {
				q.In[k] += 1 / float64(n)
			}
			if x < b.Low {
				q.Low[k] += 1 / float64(n)
			}
			q.Wide[k] += float64(b.High-b.Low) / float64(n)
		}
		there := 0
		for m := 0.0; m <= 360; m++ {
			if tr.after(m) <= tr.set {
				there = 1
				break
			}
		}
		h := &q.Holds[min(9, int(10*r.PReaches6h))]
		h[0]++
		h[1] += there
		v := q.Verdicts[r.Verdict]
		q.Verdicts[r.Verdict] = [2]int{v[0] + 1, v[1] + there}
	}
	for range n {
		tr := simulatePull(rng, kind, true)
		r, err := pulldown.Judge(tr.points, pulldown.Options{SetPoint: units.Temp(tr.set), RunsOn: kind < WithControl})
		if err != nil {
			return q, err
		}
		q.Stalling++
		if r.Verdict == pulldown.Falling {
			q.Falling++
		}
	}
	return q, nil
}
