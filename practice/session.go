package practice

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"coldwright/diagnose"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/units"
)

// Offer is something that can be read or looked at, with what it would cost now.
type Offer struct {
	At      string
	Look    bool // seen without an instrument
	Minutes float64
	Risk    string // code of package diagnose, empty for none
	Taken   bool
}

// Event is what taking a reading or a look gave and cost.
type Event struct {
	At       string            `json:"at"`
	Readings []reading.Reading `json:"-"` // none for a look; two at the drier
	Word     string            `json:"word,omitempty"`
	Minutes  float64           `json:"minutes"`
	Grams    float64           `json:"grams"`
	Risk     string            `json:"risk,omitempty"`
}

// Session is an exercise with what was read so far. Immutable.
type Session struct {
	*Exercise
	Events []Event
}

// Keys lists what this machine offers, in the order of the job: look first, gauges last.
func (e *Exercise) Keys() []string {
	var out []string
	for _, k := range reading.SeenKeys() {
		if diagnose.Chances(k, &e.state, e.change) != nil && (k != "glass" || e.Plate.Expansion != reading.Capillary) {
			out = append(out, k)
		}
	}
	pressures := []string{}
	for _, p := range reading.Places() {
		if _, _, ok := diagnose.Cost(p.String(), false); !ok {
			continue
		}
		switch {
		case p == reading.CoilPressure && !*e.Plate.Receiver,
			p == reading.LiquidPressure && !*e.Plate.Receiver: // a unit this small has no port there
		case p.Kind() == reading.KindPressure:
			pressures = append(pressures, p.String())
		default:
			out = append(out, p.String())
		}
	}
	return append(out, pressures...)
}

// Start returns the session before anything was read.
func (e *Exercise) Start() Session { return Session{Exercise: e} }

// Replay takes readings in order; those named twice count once.
func (e *Exercise) Replay(keys []string) (Session, error) {
	s := e.Start()
	for _, k := range keys {
		var err error
		if s, err = s.Take(k); err != nil {
			return s, err
		}
	}
	return s, nil
}

// Taken reports whether something was read or looked at.
func (s Session) Taken(key string) bool {
	return slices.ContainsFunc(s.Events, func(e Event) bool { return e.At == key })
}

// Done lists what was read, in order.
func (s Session) Done() []string {
	out := make([]string, 0, len(s.Events))
	for _, e := range s.Events {
		out = append(out, e.At)
	}
	return out
}

// Gauges reports whether gauges are on.
func (s Session) Gauges() bool {
	return slices.ContainsFunc(s.Events, func(e Event) bool {
		return len(e.Readings) > 0 && e.Readings[0].At.Kind() == reading.KindPressure
	})
}

// Offers lists what can be read, with its cost now.
func (s Session) Offers() []Offer {
	var out []Offer
	for _, k := range s.Keys() {
		m, risk, _ := diagnose.Cost(k, s.Gauges())
		_, err := reading.ParsePlace(k)
		out = append(out, Offer{At: k, Look: err != nil, Minutes: m, Risk: risk, Taken: s.Taken(k)})
	}
	return out
}

// Take reads at a place or looks at a thing. What was taken already costs nothing and shows the same.
//
//   - in: key of an offer
//   - out: the session with the event added
//   - errors: [*fail.Error]: nothing of that name on this machine
//   - source: the plant's output with the noise of the instrument; looks by the probabilities of the judgement
func (s Session) Take(key string) (Session, error) {
	if s.Taken(key) {
		return s, nil
	}
	if !slices.Contains(s.Keys(), key) {
		return s, fail.Of(fail.BadValue, "at", "practice.place", fail.Args{"place": key, "places": s.Keys()})
	}
	ev := Event{At: key}
	ev.Minutes, ev.Risk, _ = diagnose.Cost(key, s.Gauges())
	noise := s.noise(key)
	if p, err := reading.ParsePlace(key); err == nil {
		ev.Readings = s.read(p, noise)
		ev.Grams = s.grams(p)
	} else {
		x := noise.Float64()
		for _, c := range diagnose.Chances(key, &s.state, s.change) {
			ev.Word = c.Word
			if x -= c.P; x < 0 {
				break
			}
		}
	}
	s.Events = append(slices.Clip(s.Events), ev)
	return s, nil
}

// noise is the randomness of one reading: it depends on nothing that was read before.
func (e *Exercise) noise(key string) *rand.Rand {
	h := fnv.New64a()
	fmt.Fprintf(h, "%d %s %s", e.Level, e.Key, key)
	return rand.New(rand.NewPCG(e.Seed, h.Sum64()))
}

func (e *Exercise) read(p reading.Place, noise *rand.Rand) []reading.Reading {
	value := func(p reading.Place, noise *rand.Rand) reading.Reading {
		v, _ := e.shown(p)
		r := reading.Reading{At: p, Value: v}
		r.Value += r.Uncertainty() * noise.NormFloat64()
		lo, hi := p.Range()
		r.Value = math.Max(lo, math.Min(hi, r.Value))
		return r
	}
	if p == reading.CoilPressure {
		suction := value(reading.SuctionPressure, e.noise(reading.SuctionPressure.String()))
		low, _ := e.shown(reading.SuctionPressure)
		coil, _ := e.shown(p)
		lo, hi := p.Range()
		v := coil + suction.Value - low + diagnose.MovedGauge*e.fit.DewSlope(e.fit.DewP(coil))*noise.NormFloat64()
		return []reading.Reading{{At: p, Value: math.Max(lo, math.Min(hi, v))}}
	}
	if p != reading.DrierOut {
		return []reading.Reading{value(p, noise)}
	}
	before, after := value(reading.DrierIn, noise), reading.Reading{At: reading.DrierOut}
	in, _ := e.shown(reading.DrierIn)
	out, _ := e.shown(reading.DrierOut)
	after.Value = before.Value - (in - out) + diagnose.MovedClamp*noise.NormFloat64()
	return []reading.Reading{before, after}
}

// A hose is 1.5 m long and 4.8 mm wide inside. Common practice, no source.
const hoseLength, hoseBore = 1.5, 4.8 / units.Kilo

// grams is the refrigerant that stays in the hose of a pressure: on the low side and at rest its vapour, on the high
// side liquid, since gas condenses in a hose cooler than the condenser. Fittings that close at once and hoses emptied
// into the low side keep less.
func (e *Exercise) grams(p reading.Place) float64 {
	if p.Kind() != reading.KindPressure {
		return 0
	}
	v, ok := diagnose.Shown(p, e.in, &e.state, *e.Plate.RatedAmps, e.fit)
	if !ok {
		return 0
	}
	t := e.fit.DewP(v)
	rho, _, _ := e.fit.DewVapour(t)
	if p == reading.DischargePressure || p == reading.LiquidPressure {
		rho = e.fit.LiquidRho(e.fit.BubbleP(v))
	}
	return rho * hoseLength * math.Pi / 4 * hoseBore * hoseBore * units.Kilo
}

// Minutes and Grams are what was spent so far.
func (s Session) Minutes() (sum float64) {
	for _, e := range s.Events {
		sum += e.Minutes
	}
	return sum
}

// Grams is the refrigerant left in hoses so far.
func (s Session) Grams() (sum float64) {
	for _, e := range s.Events {
		sum += e.Grams
	}
	return sum
}

// RunningMin is how long the machine has run when the apprentice arrives: long enough for every reading to stand.
const RunningMin = 45.0

// Sheet is what was read, as a judgement takes it.
func (s Session) Sheet() reading.Sheet {
	run := RunningMin
	out := reading.Sheet{Machine: s.Plate, RunningMin: &run}
	for _, e := range s.Events {
		out.Readings = append(out.Readings, e.Readings...)
		if e.Word != "" {
			_ = out.Seen.Set(e.At, e.Word) // the word comes from the same list
		}
	}
	return out
}
