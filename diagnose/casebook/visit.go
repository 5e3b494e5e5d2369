package casebook

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// Cause is a fault with its severity, Z in standard normals.
type Cause struct {
	Code     fault.Code
	Z        float64
	Severity float64
}

// Draw draws a severity from the prior.
func Draw(rng *rand.Rand, row *fault.Fault) Cause {
	z := rng.NormFloat64()
	return Cause{row.Code, z, row.Severity(z)}
}

// Lies is what the instruments that are off among the causes add to what is read, in the unit of each place's value.
func Lies(causes ...Cause) map[reading.Place]float64 {
	lies := map[reading.Place]float64{}
	for _, c := range causes {
		for _, at := range c.Code.ReadsWrong() {
			lies[at] += c.Severity
		}
	}
	return lies
}

// Steady is what a machine settles at; false where it finds no steady state or would trip.
func Steady(p *plant.Plant, in plant.Inputs, ch plant.Change) (plant.Outputs, bool) {
	r := p.Solve(in, ch, plant.Options{})
	return r.Out, r.Status.OK() && r.Trip == plant.TripNone
}

// Visit is a simulated visit with its truth, and an earlier one to the same machine when it was healthy.
type Visit struct {
	Causes         []Cause          // none: healthy
	Learned        *reading.Learned // what others of its house taught
	Fit            *refrigerant.Fit
	displayOnly    bool // the box's own thermometer lies and nobody brought another
	today, earlier reading.Sheet
}

// Truth is the first cause, or healthy.
func (v *Visit) Truth() fault.Code {
	if len(v.Causes) == 0 {
		return fault.Healthy
	}
	return v.Causes[0].Code
}

// Severe reports whether the first cause is of above-median severity; of a lying instrument, in either direction.
func (v *Visit) Severe() bool {
	const quartile = 0.6744897501960817 // half of all normal draws lie further out
	if len(v.Causes) == 0 {
		return false
	}
	if v.Causes[0].Code.Instrument() {
		return math.Abs(v.Causes[0].Z) > quartile
	}
	return v.Causes[0].Z > 0
}

// Full names the largest reading set.
const Full byte = 'f'

// setPlaces: what each reading set adds to those before it. Dirt and ice seen come with d.
var setPlaces = map[byte][]reading.Place{
	'a':  {reading.SuctionPressure, reading.DischargePressure},
	'b':  {reading.CoilOutletLine, reading.LiquidLine},
	'c':  {reading.DischargeLine, reading.CoilAirOff},
	'd':  {reading.CondenserAirOff, reading.DrierIn, reading.DrierOut, reading.SuctionLine, reading.Amps},
	Full: {reading.CondenserFaceAir, reading.StandingPressure, reading.Power},
}

const setOrder = "abcdf"

// View is what of a visit the diagnosis gets to see.
type View struct {
	Set    byte     // a, b, c, d or Full; box air, ambient and glass are always there
	OnFile bool     // the healthy visit, read with the same set
	Second bool     // box display and a probe beside it
	With   []string // places or things seen read besides
	Drop   []string // places or things seen left out
}

// Readings lists the places and things seen of a set.
func (w View) Readings() []string {
	out := []string{reading.BoxAir.String(), reading.Ambient.String(), "glass"}
	for i := range len(setOrder) {
		if s := setOrder[i]; s <= w.Set {
			for _, p := range setPlaces[s] {
				out = append(out, p.String())
			}
			if s == 'd' {
				out = append(out, "condenser_dirt", "coil_ice")
			}
		}
	}
	return out
}

// Sheet returns what a view holds of the visit.
func (v *Visit) Sheet(w View) reading.Sheet {
	keep := map[string]bool{}
	for _, k := range append(w.Readings(), w.With...) {
		keep[k] = true
	}
	// Where it is taken at all, the wet bulb comes with the thermometers of set d.
	keep[reading.BoxWetBulb.String()] = w.Set >= 'd'
	for _, k := range w.Drop {
		keep[k] = false
	}
	cut := func(full reading.Sheet) reading.Sheet {
		s := full
		s.Readings = nil
		for _, r := range full.Readings {
			ok := keep[r.At.String()]
			switch r.At {
			case reading.BoxDisplay:
				ok = w.Second || v.displayOnly && keep[reading.BoxAir.String()]
			case reading.BoxAir:
				ok = ok && (w.Second || !v.displayOnly)
			}
			if ok {
				s.Readings = append(s.Readings, r)
			}
		}
		if !keep["glass"] {
			s.Seen.Glass = 0
		}
		if !keep["condenser_dirt"] {
			s.Seen.CondenserDirt = 0
		}
		if !keep["coil_ice"] {
			s.Seen.CoilIce = 0
		}
		return s
	}
	s := cut(v.today)
	s.Learned = v.Learned
	if w.OnFile {
		s.HealthyVisits = []reading.Sheet{cut(v.earlier)}
	}
	return s
}

// Visits simulates perFault visits of each cause of Truths after three times as many healthy ones. Each visit has its
// own generator, so that worlds of the same kind share machines, weather and noise, and a larger count begins with
// the smaller one's visits of each cause.
//
//   - in: seed; visits per cause; the catalogue the severities come from
//   - out: the visits, always the same for a seed; causes the catalogue lacks are left out
//   - errors: a refrigerant cannot be loaded
//   - source: Simulate
//   - cost: 0.2 ms a visit
func (w World) Visits(seed uint64, perFault int, cat *fault.Catalogue, fits *Fits) ([]Visit, error) {
	return w.VisitsAnd(seed, 3*perFault, perFault, cat, fits)
}

// VisitsAnd is Visits with another number of healthy ones.
//
//   - in: seed; healthy visits; visits per cause; the catalogue the severities come from
//   - out: the visits, always the same for a seed; causes the catalogue lacks are left out
//   - errors: a refrigerant cannot be loaded
//   - source: Simulate
//   - cost: 0.2 ms a visit
func (w World) VisitsAnd(seed uint64, healthy, perFault int, cat *fault.Catalogue, fits *Fits) ([]Visit, error) {
	var out []Visit
	draw := func(n int, code fault.Code, row *fault.Fault) error {
		for k := range n {
			for try := uint64(0); ; try++ {
				rng := rand.New(rand.NewPCG(seed, uint64(code)<<40|uint64(k)<<8|try))
				var causes []Cause
				if row != nil {
					causes = []Cause{Draw(rng, row)}
				}
				v, ok, err := w.Simulate(rng, fits, causes...)
				if err != nil {
					return err
				}
				if ok {
					out = append(out, v)
					break
				}
			}
		}
		return nil
	}
	if err := draw(healthy, fault.Healthy, nil); err != nil {
		return nil, err
	}
	for _, c := range Truths(w.Kind) {
		if row, ok := cat.Find(c); ok {
			if err := draw(perFault, c, row); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// VisitsOf simulates n visits with all of these causes at once, each severity at least least standard normals (in
// either direction for instruments).
//
//   - in: seed; number; rows of the catalogue; least
//   - out: the visits, always the same for a seed
//   - errors: a refrigerant cannot be loaded
//   - source: Simulate
//   - cost: 0.2 ms a visit
func (w World) VisitsOf(seed uint64, n int, fits *Fits, least float64, rows ...*fault.Fault) ([]Visit, error) {
	var out []Visit
	stream := uint64(1) << 60
	for _, r := range rows {
		stream += uint64(r.Code) << 40
		stream = stream<<1 | stream>>63
	}
	for try := uint64(0); len(out) < n; try++ {
		rng := rand.New(rand.NewPCG(seed, stream+try))
		var causes []Cause
		for _, r := range rows {
			c := Draw(rng, r)
			for c.Z < least && !(r.Code.Instrument() && -c.Z >= least) {
				c = Draw(rng, r)
			}
			causes = append(causes, c)
		}
		v, ok, err := w.Simulate(rng, fits, causes...)
		if err != nil {
			return nil, err
		}
		if ok {
			out = append(out, v)
		}
	}
	return out, nil
}

// Judge answers simulated visits as seen in a view.
//
//   - in: visits; what is seen of them; options of the diagnosis
//   - out: an answer per visit
//   - errors: those of Run
//   - source: Run
//   - cost: as Run, on all cores
func Judge(ctx context.Context, visits []Visit, see View, o diagnose.Options) ([]diagnose.Posterior, error) {
	answers := make([]diagnose.Posterior, len(visits))
	errs := make([]error, len(visits))
	jobs := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range jobs {
				v := &visits[i]
				answers[i], errs[i] = diagnose.Run(ctx, diagnose.Evidence{Sheet: v.Sheet(see), Fit: v.Fit}, o)
			}
		})
	}
	for i := range visits {
		jobs <- i
	}
	close(jobs)
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return answers, nil
}
