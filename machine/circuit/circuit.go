package circuit

import (
	"math"

	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Keys of the derived quantities.
const (
	Superheat          = "superheat_k"         // at the coil outlet
	SuctionSuperheat   = "suction_superheat_k" // at the compressor
	Subcooling         = "subcooling_k"
	TD                 = "td_k"
	Split              = "split_k"
	CompressionRatio   = "compression_ratio"
	DischargeSuperheat = "discharge_superheat_k"
	CoilAirDrop        = "coil_air_drop_k"
	CondenserAirRise   = "condenser_air_rise_k"
	DrierDrop          = "drier_drop_k"
)

// Quantity is a derived quantity with its standard uncertainty; End says which end of the glide it uses.
type Quantity struct {
	Key      string
	Value, U float64
	From     []reading.Place
	End      string // "dew", "bubble" or ""
	gradient map[reading.Place]float64
}

// Saturation is what a pressure reading means as temperatures, K; U is the standard uncertainty of the dew temperature.
type Saturation struct {
	At             reading.Place
	P              float64
	Dew, Bubble, U float64
}

// Expected is what a healthy machine shows by the rule of thumb: suction saturation = box − TD, head saturation = ambient + split.
type Expected struct {
	At    reading.Place
	Temp  float64 // saturation (dew), K
	P     float64 // Pa absolute
	Basis string  // "plate", "history" or "application"
	OffK  float64 // read minus expected, K
	Read  bool
}

// Analysis is everything the readings mean by themselves.
type Analysis struct {
	Ambient    units.Pressure
	Saturation []Saturation
	Derived    []Quantity
	Expected   []Expected
	Findings   []reading.Finding
	u          map[reading.Place]float64
}

// Finding codes of this package.
const (
	NegativeSuperheat   = "superheat_below_zero"
	SuperheatAboveTD    = "superheat_above_td"
	OutletWarmerThanBox = "coil_outlet_warmer_than_box"
	LiquidTooHot        = "liquid_hotter_than_head_allows"
	DischargeTooCold    = "discharge_colder_than_head_saturation"
	LineTooCold         = "line_colder_than_possible"
	SuctionVacuum       = "suction_in_vacuum"
	PressureOutside     = "pressure_outside_refrigerant"
	DischargeHot        = "discharge_line_hot"
	RatioHigh           = "compression_ratio_high"
)

// FindingCodes lists the codes this package can return.
func FindingCodes() []string {
	return []string{
		NegativeSuperheat,
		SuperheatAboveTD,
		OutletWarmerThanBox,
		LiquidTooHot,
		DischargeTooCold,
		LineTooCold,
		SuctionVacuum,
		PressureOutside,
		DischargeHot,
		RatioHigh,
	}
}

// Find returns a derived quantity by key.
func (a *Analysis) Find(key string) (Quantity, bool) {
	for _, q := range a.Derived {
		if q.Key == key {
			return q, true
		}
	}
	return Quantity{}, false
}

// At returns the saturation at a pressure place.
func (a *Analysis) At(p reading.Place) (Saturation, bool) {
	for _, s := range a.Saturation {
		if s.At == p {
			return s, true
		}
	}
	return Saturation{}, false
}

// Cov returns the covariance of two derived quantities through the readings they share.
//
//   - in: two keys
//   - out: covariance in the product of their units; variance when the keys are equal
//   - source: linear propagation of uncertainty, JCGM 100:2008 (GUM), 5.2
func (a *Analysis) Cov(k, l string) float64 {
	x, ok1 := a.Find(k)
	y, ok2 := a.Find(l)
	if !ok1 || !ok2 {
		return 0
	}
	s := 0.0
	for p, g := range x.gradient {
		s += g * y.gradient[p] * a.u[p] * a.u[p]
	}
	return s
}

// Analyze derives what the readings of a sheet mean.
//
//   - in: the sheet (SI, absolute pressures); the fit of its refrigerant
//   - out: saturation, derived quantities with uncertainty, the rule-of-thumb expectation, findings
//   - errors: none; what cannot be derived is absent, what is impossible is a finding
//   - assumes: composition unchanged along the circuit; suction gauge at the compressor stands for the coil when no
//     coil gauge is read and no regulator throttles between them
//   - source: definitions of the trade (dew for superheat and TD, bubble for subcooling); GUM 5.2 for uncertainties
//   - cost: about 10 µs
func Analyze(s reading.Sheet, f *refrigerant.Fit) Analysis {
	a := Analysis{Ambient: s.Machine.AmbientPressure(), u: map[reading.Place]float64{}}
	m, _ := s.Machine.Resolve()
	lo, hi := f.PRange()
	find := func(code string, sev reading.Severity, args map[string]float64, at ...reading.Place) {
		x := reading.Finding{Code: code, Args: args, Severity: sev}
		for _, p := range at {
			x.At = append(x.At, p.String())
		}
		a.Findings = append(a.Findings, x)
	}
	read := map[reading.Place]reading.Reading{}
	for _, p := range reading.Places() {
		if r, ok := s.Find(p); ok {
			read[p] = r
			a.u[p] = r.Uncertainty()
		}
	}
	sat := map[reading.Place]Saturation{}
	for _, p := range reading.Places() {
		r, ok := read[p]
		if !ok || p.Kind() != reading.KindPressure {
			continue
		}
		if r.Value < lo || r.Value > hi {
			find(PressureOutside, reading.Warn, map[string]float64{"pressure_pa": r.Value, "min_pa": lo, "max_pa": hi}, p)
			continue
		}
		x := Saturation{At: p, P: r.Value, Dew: f.DewP(r.Value), Bubble: f.BubbleP(r.Value)}
		x.U = a.u[p] / f.DewSlope(x.Dew)
		sat[p] = x
		a.Saturation = append(a.Saturation, x)
	}
	add := func(key, end string, v float64, g map[reading.Place]float64) {
		q := Quantity{Key: key, Value: v, End: end, gradient: g}
		for _, p := range reading.Places() {
			if d, ok := g[p]; ok {
				q.From = append(q.From, p)
				q.U += d * d * a.u[p] * a.u[p]
			}
		}
		q.U = math.Sqrt(q.U)
		a.Derived = append(a.Derived, q)
	}
	// line minus saturation (sign +1) or saturation minus line (−1) at one end of the glide.
	against := func(key string, line, gauge reading.Place, bubble bool, sign float64) {
		r, ok1 := read[line]
		x, ok2 := sat[gauge]
		if !ok1 || !ok2 {
			return
		}
		T, slope, end := x.Dew, f.DewSlope(x.Dew), "dew"
		if bubble {
			T, slope, end = x.Bubble, f.BubbleSlope(x.Bubble), "bubble"
		}
		add(key, end, sign*(r.Value-T), map[reading.Place]float64{line: sign, gauge: -sign / slope})
	}
	between := func(key string, p, q reading.Place) {
		x, ok1 := read[p]
		y, ok2 := read[q]
		if ok1 && ok2 {
			add(key, "", x.Value-y.Value, map[reading.Place]float64{p: 1, q: -1})
		}
	}
	coil := reading.SuctionPressure
	if _, ok := sat[reading.CoilPressure]; ok {
		coil = reading.CoilPressure
	}
	head := reading.DischargePressure
	// The liquid line is read leaving the unit, so it belongs to the head pressure; the pressure after the drier is
	// another place and stands in only when the head was not read.
	liquid := head
	if _, ok := sat[head]; !ok {
		liquid = reading.LiquidPressure
	}
	coilKnown := coil == reading.CoilPressure || !throttled(m, sat[coil].P)
	if coilKnown {
		against(Superheat, reading.CoilOutletLine, coil, false, 1)
	}
	against(SuctionSuperheat, reading.SuctionLine, reading.SuctionPressure, false, 1)
	against(Subcooling, reading.LiquidLine, liquid, true, -1)
	if coilKnown {
		against(TD, reading.BoxAir, coil, false, 1)
	}
	against(Split, reading.Ambient, head, false, -1)
	against(DischargeSuperheat, reading.DischargeLine, head, false, 1)
	if s, ok := read[reading.SuctionPressure]; ok {
		if d, ok := read[head]; ok && s.Value > 0 {
			r := d.Value / s.Value
			add(CompressionRatio, "", r, map[reading.Place]float64{head: 1 / s.Value, reading.SuctionPressure: -r / s.Value})
		}
	}
	between(CoilAirDrop, reading.BoxAir, reading.CoilAirOff)
	between(CondenserAirRise, reading.CondenserAirOff, reading.Ambient)
	between(DrierDrop, reading.DrierIn, reading.DrierOut)
	a.expect(s, m, f, read, sat)
	a.check(f, m, read, sat, find)
	return a
}

// throttled reports whether a suction gauge at the compressor is behind a regulator that may be throttling: an
// evaporator regulator always, a crankcase regulator within 5 % of its setting. Such a gauge says nothing about the
// coil. p is what it reads, Pa; 0: not read.
func throttled(m reading.Resolved, p float64) bool {
	return m.EvaporatorRegulator > 0 || m.CrankcaseRegulator > 0 && p > 0.95*float64(m.CrankcaseRegulator)
}

// expect fills the rule of thumb, with TD and split from the plate, the mean of earlier healthy visits, or the application.
func (a *Analysis) expect(
	s reading.Sheet,
	m reading.Resolved,
	f *refrigerant.Fit,
	read map[reading.Place]reading.Reading,
	sat map[reading.Place]Saturation,
) {
	td, split := float64(m.TD), float64(m.Split)
	basisTD, basisSplit := "application", "application"
	if m.TDKnown {
		basisTD = "plate"
	}
	if m.SplitKnown {
		basisSplit = "plate"
	}
	mean := func(key string) (float64, bool) {
		sum, n := 0.0, 0.0
		for _, h := range s.HealthyVisits {
			h.HealthyVisits = nil
			b := Analyze(h, f)
			if q, ok := b.Find(key); ok {
				sum += q.Value
				n++
			}
		}
		return sum / n, n > 0
	}
	if v, ok := mean(TD); ok {
		td, basisTD = v, "history"
	}
	if v, ok := mean(Split); ok {
		split, basisSplit = v, "history"
	}
	put := func(at, from reading.Place, T float64, basis string) {
		lo, hi := f.TRange()
		if _, ok := read[from]; !ok || T < lo || T > hi {
			return // above its critical point a refrigerant has no saturation to expect
		}
		e := Expected{At: at, Temp: T, P: f.DewT(T), Basis: basis}
		if x, ok := sat[at]; ok {
			e.OffK, e.Read = x.Dew-T, true
		}
		a.Expected = append(a.Expected, e)
	}
	suction := read[reading.BoxAir].Value - td
	if m.CrankcaseRegulator > 0 {
		suction = math.Min(suction, f.DewP(float64(m.CrankcaseRegulator)))
	}
	put(reading.SuctionPressure, reading.BoxAir, suction, basisTD)
	put(reading.DischargePressure, reading.Ambient, read[reading.Ambient].Value+split, basisSplit)
}

// check finds what cannot be or should worry. Limits of discharge line (107 °C six inches from the valve) and ratio
// (12) are from memory of makers' bulletins; they warn, they never judge.
func (a *Analysis) check(f *refrigerant.Fit, m reading.Resolved, read map[reading.Place]reading.Reading, sat map[reading.Place]Saturation,
	find func(string, reading.Severity, map[string]float64, ...reading.Place),
) {
	for _, key := range []string{Superheat, SuctionSuperheat} {
		if q, ok := a.Find(key); ok && q.Value < -2*q.U {
			find(NegativeSuperheat, reading.Warn, map[string]float64{"superheat_k": q.Value, "u_k": q.U}, q.From...)
		}
	}
	if sh, ok := a.Find(Superheat); ok {
		if td, ok := a.Find(TD); ok {
			// The difference is outlet line minus box air: the gauge drops out.
			d := sh.Value - td.Value
			u := math.Sqrt(math.Max(0, a.Cov(Superheat, Superheat)+a.Cov(TD, TD)-2*a.Cov(Superheat, TD)))
			switch {
			case d > 2*u+1:
				find(OutletWarmerThanBox, reading.Warn, map[string]float64{"difference_k": d}, reading.CoilOutletLine, reading.BoxAir)
			case d > 0.5*u:
				find(SuperheatAboveTD, reading.Info, map[string]float64{"difference_k": d}, reading.CoilOutletLine, reading.BoxAir)
			}
		}
	}
	if q, ok := a.Find(Subcooling); ok && q.Value < -2*q.U-1 {
		find(LiquidTooHot, reading.Warn, map[string]float64{"difference_k": -q.Value, "u_k": q.U}, q.From...)
	}
	if q, ok := a.Find(DischargeSuperheat); ok && q.Value < -2*q.U {
		find(DischargeTooCold, reading.Warn, map[string]float64{"difference_k": -q.Value}, q.From...)
	}
	if r, ok := read[reading.DischargeLine]; ok && r.Value > float64(units.Celsius(107)) {
		find(DischargeHot, reading.Warn, map[string]float64{"line_k": r.Value}, reading.DischargeLine)
	}
	if x, ok := sat[reading.SuctionPressure]; ok {
		if x.P < float64(a.Ambient) {
			find(SuctionVacuum, reading.Warn, map[string]float64{"pressure_pa": x.P}, reading.SuctionPressure)
		}
		// A line on the low side cannot be colder than the refrigerant boiling in it (bubble end at the gauge), less the uncertainties.
		for _, p := range []reading.Place{reading.CoilAirOff} {
			if r, ok := read[p]; ok && r.Value < x.Bubble-2*math.Hypot(x.U, a.u[p])-2 {
				find(LineTooCold, reading.Warn, map[string]float64{"difference_k": x.Bubble - r.Value}, p, reading.SuctionPressure)
			}
		}
	}
	if r, ok := read[reading.LiquidLine]; ok {
		if amb, ok := read[reading.Ambient]; ok && r.Value < amb.Value-2*math.Hypot(a.u[reading.LiquidLine], a.u[reading.Ambient])-3 {
			find(LineTooCold, reading.Warn, map[string]float64{"difference_k": amb.Value - r.Value}, reading.LiquidLine, reading.Ambient)
		}
	}
	if q, ok := a.Find(CompressionRatio); ok && q.Value > 12 {
		find(RatioHigh, reading.Warn, map[string]float64{"ratio": q.Value}, q.From...)
	}
}
