package figure

import (
	"math"
	"slices"

	"coldwright/diagnose"
	"coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/refrigerant"
	"coldwright/say/text"
	"coldwright/units"
)

// basisHistory is the word of a judgement for bands learned from healthy visits.
const basisHistory = "history"

// laneOf is the lane of a place; pressures stand as saturation.
func laneOf(p reading.Place) Lane {
	switch p {
	case reading.CoilOutletLine, reading.SuctionLine, reading.DischargeLine, reading.LiquidLine, reading.DrierIn, reading.DrierOut:
		return LaneLine
	case reading.BoxAir, reading.CoilAirOff, reading.BoxDisplay, reading.BoxWetBulb, reading.Ambient, reading.CondenserFaceAir,
		reading.CondenserAirOff:
		return LaneAir
	}
	return LaneSaturation
}

// Marks takes the ladder's marks from a judgement: pressures as the dew temperature, every temperature that was read,
// and its band today. The machine's standing pressure is not on the ladder: it belongs to a machine at rest.
func Marks(p *diagnose.Posterior, s reading.Sheet, lang ...text.Language) []Mark {
	bands := map[reading.Place]Band{}
	for _, e := range p.Expected {
		b := e.Band
		if e.At.Kind() == reading.KindPressure {
			b = e.Dew
		}
		bands[e.At] = Band{units.Temp(b.Low), units.Temp(b.Mid), units.Temp(b.High), e.Basis != basisHistory}
	}
	var out []Mark
	for _, at := range reading.Places() {
		r, ok := s.Find(at)
		if !ok || at == reading.StandingPressure {
			continue
		}
		m := Mark{Key: at.String(), Name: text.Place(at, lang...).Name, Lane: laneOf(at)}
		switch at.Kind() {
		case reading.KindPressure:
			sat, ok := p.Analysis.At(at)
			if !ok {
				continue
			}
			m.Read = units.Temp(sat.Dew)
			m.Name = text.Saturated(at, lang...)
		case reading.KindTemperature:
			m.Read = units.Temp(r.Value)
		default:
			continue
		}
		if b, ok := bands[at]; ok {
			m.Band = &b
		}
		out = append(out, m)
	}
	return out
}

// usual are the places every drawing of the circuit offers; others stand there once they are read or asked for.
var usual = []reading.Place{
	reading.Ambient,
	reading.LiquidLine,
	reading.DrierOut,
	reading.DischargePressure,
	reading.DischargeLine,
	reading.SuctionPressure,
	reading.SuctionLine,
	reading.CoilAirOff,
	reading.CoilOutletLine,
	reading.BoxAir,
	reading.BoxDisplay,
}

// Tags takes the circuit's tags from a sheet and, when there is one, its judgement (nil: none yet). more offers every place there is.
func Tags(s reading.Sheet, p *diagnose.Posterior, more bool) []Tag {
	next := ""
	off := map[reading.Place]units.TempDiff{}
	if p != nil {
		if len(p.Next) > 0 {
			next = p.Next[0].At
		}
		for _, e := range p.Expected {
			if e.Read && !e.In && (e.At.Kind() == reading.KindPressure || e.At.Kind() == reading.KindTemperature) {
				off[e.At] = units.TempDiff(e.Off)
			}
		}
	}
	var out []Tag
	for _, at := range reading.Places() {
		r, read := s.Find(at)
		if !read && !more && !slices.Contains(usual, at) && at.String() != next {
			continue
		}
		t := Tag{Key: at.String(), Next: at.String() == next}
		if read {
			v := r.Value
			t.Value, t.Off = &v, off[at]
		}
		out = append(out, t)
	}
	m, _ := s.Machine.Resolve()
	if m.Expansion != reading.Capillary || s.Seen.Glass != reading.GlassUnknown {
		out = append(out, Tag{Key: "glass", Word: s.Seen.Glass.String(), Next: next == "glass"})
	}
	return out
}

// CircuitFrom takes the whole drawing's data from a sheet and its judgement.
func CircuitFrom(s reading.Sheet, p *diagnose.Posterior, d units.Display, more bool) CircuitData {
	m, _ := s.Machine.Resolve()
	return CircuitData{
		Receiver: m.Receiver, Expansion: m.Expansion, HeadControl: m.HeadControl, Glass: s.Seen.Glass,
		Tags: Tags(s, p, more), Display: d, Ambient: s.Machine.AmbientPressure(),
	}
}

// askedWord is the answer whose probability a judgement gives for something seen.
var askedWord = map[string]string{"glass": "bubbling", "condenser_dirt": "some", "coil_ice": "some"}

// NextFrom takes the bars from a reading a judgement asks for. At the drier's outlet they show the drop across the
// drier; for something seen, how likely one answer is under each suspect.
func NextFrom(n diagnose.Next, d units.Display, ambient units.Pressure) NextData {
	out := NextData{At: n.At, Display: d, Ambient: ambient}
	at, err := reading.ParsePlace(n.At)
	if err != nil {
		out.Answer = askedWord[n.At]
	}
	out.Difference = at == reading.DrierOut
	out.Share = err != nil
	for _, s := range n.Shows {
		out.Shows = append(out.Shows, Show{Name: text.Fault(s.Name).Name, Low: s.Band.Low, Mid: s.Band.Mid, High: s.Band.High})
	}
	return out
}

// PullDownFrom takes the curve's data from the points of a test and what was made of them (nil: nothing yet).
func PullDownFrom(points []PullPoint, set *units.Temp, r *pulldown.Result, d units.Display) PullDownData {
	out := PullDownData{Points: points, SetPoint: set, Display: d}
	if r == nil || len(points) == 0 || r.Verdict == pulldown.TooShort {
		return out
	}
	first := points[0].Minute
	for i, b := range r.Curve {
		if b.Minute < r.Span {
			continue
		}
		if len(out.Forecast) == 0 && i > 0 && b.Minute > r.Span {
			// The forecast begins at the last reading, between two points of the curve.
			a := r.Curve[i-1]
			t := units.Temp((r.Span - a.Minute) / (b.Minute - a.Minute))
			out.Forecast = append(
				out.Forecast,
				PullBand{first + r.Span, a.Low + t*(b.Low-a.Low), a.Mid + t*(b.Mid-a.Mid), a.High + t*(b.High-a.High)},
			)
		}
		out.Forecast = append(out.Forecast, PullBand{first + b.Minute, b.Low, b.Mid, b.High})
	}
	return out
}

// Forecast takes the rows of the forecast's table.
func Forecast(r *pulldown.Result, d units.Display, lang ...text.Language) Table {
	l := one(lang)
	t := Table{
		Head: []string{text.Figure("forecast", l, TempUnit(d)), text.Figure("low", l), text.Figure("likely", l), text.Figure("high", l)},
	}
	if r == nil || r.Verdict == pulldown.TooShort {
		return t
	}
	for _, f := range r.Forecast {
		words := text.Figure("after_minutes", l, units.Fixed(f.Minute, 0))
		if math.Mod(f.Minute, 60) == 0 {
			words = text.Figure("after_hours", l, units.Fixed(f.Minute/60, 0))
		}
		t.Rows = append(t.Rows, []string{words, d.TempNumber(f.Low, 1), d.TempNumber(f.Mid, 1), d.TempNumber(f.High, 1)})
	}
	return t
}

// PHFrom takes the diagram's data from a sheet, its judgement (nil: none yet) and the chart of its refrigerant.
func PHFrom(s reading.Sheet, p *diagnose.Posterior, c *refrigerant.Chart, d units.Display) PHData {
	out := PHData{Chart: c, Display: d, Ambient: s.Machine.AmbientPressure()}
	if c == nil {
		return out
	}
	m, _ := s.Machine.Resolve()
	out.Cycle = circuit.CycleOf(circuit.ReadSheet(s), c.Fit(), m)
	if p != nil {
		out.Healthy = phBand(s, p, c.Fit())
	}
	return out
}

// phBand turns what is expected at each place into the healthy cycle; nil when not all of it is expected.
func phBand(s reading.Sheet, p *diagnose.Posterior, f *refrigerant.Fit) *PHBand {
	type band = diagnose.Band
	bands := map[reading.Place]band{}
	out := &PHBand{Rows: map[circuit.Corner]PHRow{}}
	for _, e := range p.Expected {
		bands[e.At] = e.Band
		out.Design = out.Design || e.Basis != basisHistory
	}
	for _, at := range []reading.Place{reading.CoilPressure, reading.LiquidPressure} {
		if _, ok := s.Find(at); !ok {
			delete(bands, at) // compared with what was read: by the same gauges
		}
	}
	m, _ := s.Machine.Resolve()
	// Lines of the band that cross saturation stand on it.
	course := func(pressure, line func(band) float64) circuit.Cycle {
		return circuit.CycleOf(func(at reading.Place) (float64, float64, bool) {
			b, ok := bands[at]
			if at.Kind() == reading.KindPressure {
				return pressure(b), 0, ok
			}
			return line(b), math.Inf(1), ok
		}, f, m)
	}
	low := func(b band) float64 { return b.Low }
	mid := func(b band) float64 { return b.Mid }
	high := func(b band) float64 { return b.High }
	cold, hot := course(mid, low), course(mid, high)
	gauge := map[circuit.Corner]reading.Place{
		circuit.CoilIn: reading.SuctionPressure, circuit.CoilOut: reading.SuctionPressure, circuit.CompressorIn: reading.SuctionPressure,
		circuit.CompressorOut: reading.DischargePressure, circuit.LiquidOut: reading.DischargePressure,
	}
	if _, ok := bands[reading.CoilPressure]; ok {
		gauge[circuit.CoilIn], gauge[circuit.CoilOut] = reading.CoilPressure, reading.CoilPressure
	}
	lines := map[circuit.Corner]reading.Place{
		circuit.CoilOut: reading.CoilOutletLine, circuit.CompressorIn: reading.SuctionLine,
		circuit.CompressorOut: reading.DischargeLine, circuit.LiquidOut: reading.LiquidLine,
	}
	for _, at := range circuit.Corners() {
		a, ok1 := cold.Find(at)
		b, ok2 := hot.Find(at)
		if !ok1 || !ok2 {
			return nil
		}
		g := bands[gauge[at]]
		r := PHRow{P: [2]float64{g.Low, g.High}, T: [2]float64{a.T, b.T}, H: [2]float64{a.H, b.H}}
		if at == circuit.CoilIn {
			// It boils at the pressure of the coil: its temperature follows that, not the liquid's.
			lowP, highP := course(low, mid), course(high, mid)
			a, ok1 = lowP.Find(at)
			b, ok2 = highP.Find(at)
			if !ok1 || !ok2 {
				return nil
			}
			r.T = [2]float64{a.T, b.T}
		}
		if l, ok := bands[lines[at]]; ok {
			r.T = [2]float64{l.Low, l.High} // in degrees as every other table says it, not as far as saturation at the middle
		}
		out.Rows[at] = r
	}
	out.Low, out.High = out.Rows[circuit.CoilIn].P, out.Rows[circuit.LiquidOut].P
	out.Liquid, out.CompressorIn, out.Discharge = out.Rows[circuit.LiquidOut].H, out.Rows[circuit.CompressorIn].H,
		out.Rows[circuit.CompressorOut].H
	return out
}
