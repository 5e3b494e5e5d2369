package refrigerant

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"coldwright/num"
	"coldwright/refrigerant/internal/data"
	"coldwright/refrigerant/internal/eos"
)

// zeroCelsius is the reference temperature of the IIR convention, K.
const zeroCelsius = num.ZeroCelsius

// Kind says what sort of refrigerant it is.
type Kind int

// The kinds.
const (
	KindUnknown Kind = iota
	Pure
	Azeotrope
	Zeotrope
)

func (k Kind) String() string {
	return word(int(k), "unknown", "pure", "azeotrope", "zeotrope")
}

// Reference is the state in which enthalpy and entropy take their conventional values.
type Reference int

// The conventions. Unset means IIR, or NBP for a substance that has no saturated liquid at 0 °C.
const (
	ReferenceUnset Reference = iota
	IIR                      // 200 kJ/kg and 1 kJ/(kg K) in saturated liquid at 0 °C
	ASHRAE                   // zero in saturated liquid at −40 °C
	NBP                      // zero in saturated liquid at 101.325 kPa
)

func (r Reference) String() string { return word(int(r), "unset", "IIR", "ASHRAE", "NBP") }

// word names a value of a list; a value that is not in it is unknown.
func word(i int, words ...string) string {
	if i < 0 || i >= len(words) {
		return "unknown"
	}
	return words[i]
}

// Part is a share of a blend.
type Part struct {
	Designation  string
	MassFraction float64
}

// Limits is where a refrigerant may be evaluated. Saturation ends at TCrit, PCrit.
type Limits struct {
	TMin, TMax   float64 // K
	PMax         float64 // Pa
	TCrit, PCrit float64
	RhoCrit      float64 // kg/m³
}

// Options tune a solve; the zero value is the documented default.
type Options struct {
	// MaxIter bounds the iterations of every Newton solve for saturation, for a split in two phases and for a state at a
	// pressure; 0 means 50. Where Newton gives up a search between brackets follows, with bounds of its own.
	MaxIter int
	// Extrapolate allows results outside the published validity: down to 80 % of the lower limit of temperature (90 % for
	// saturation), up to 1.5 times the upper one and twice the pressure. Such a result carries the warning [Extrapolated].
	Extrapolate bool
	// Reference is the zero of enthalpy and entropy.
	Reference Reference
}

// Extrapolated is the warning a result outside the published validity carries.
const Extrapolated = "extrapolated"

func (o Options) maxIter() int {
	if o.MaxIter <= 0 {
		return eos.NewtonMax
	}
	return o.MaxIter
}

// RangeError says that a value lies outside the published validity; its subject is the designation.
type RangeError = num.RangeError

// The quantities of a [RangeError].
const (
	QuantityTemperature           = "temperature"
	QuantitySaturationTemperature = "saturation temperature"
	QuantityPressure              = "pressure"
	QuantitySaturationPressure    = "saturation pressure"
	QuantityDensity               = "density"
	QuantityEnthalpy              = "enthalpy"
	QuantityEnthalpyAtEntropy     = "enthalpy at this entropy"
	QuantityEntropy               = "entropy"
	QuantityVapourShare           = "vapour mass fraction"
	QuantityCharge                = "charge"
	QuantityVolume                = "volume"
	QuantityChargePerVolume       = "charge per volume"
	QuantityLiquidShare           = "liquid share of the volume"
	QuantityRemovedShare          = "removed share"
	QuantitySteps                 = "steps"
	QuantityPhase                 = "phase at the hole"
)

// Why a range ends.
const (
	reasonValidity   = "published validity of the equation"
	reasonSaturation = "lower limit of the equation to the critical point"
	reasonCritical   = "critical point"
	reasonDefinition = "definition"
)

// outside is the error for a value outside lo to hi.
func (r *Refrigerant) outside(quantity string, d num.Dimension, value, lo, hi float64, reason string) error {
	return num.OutOfRangeError(r.designation, quantity, d, value, lo, hi, reason)
}

func (r *Refrigerant) tooColdOrHot(T float64) error {
	return r.outside(QuantityTemperature, num.Temperature, T, r.limits.TMin, r.limits.TMax, reasonValidity)
}

func (r *Refrigerant) noSaturationAt(T float64) error {
	return r.outside(QuantitySaturationTemperature, num.Temperature, T, r.limits.TMin, r.limits.TCrit, reasonSaturation)
}

// UnknownError says that a designation is not on file.
type UnknownError struct {
	Designation string
	Near        []string
}

func (e *UnknownError) Error() string {
	s := fmt.Sprintf("no refrigerant %q", e.Designation)
	if len(e.Near) > 0 {
		s += "; near: " + strings.Join(e.Near, ", ")
	}
	return s
}

// Refrigerant is one refrigerant, ready to be evaluated. It is immutable and safe for concurrent use.
type Refrigerant struct {
	designation   string
	kind          Kind
	grade, reason string
	parts         []Part
	m             *eos.Model
	z             []float64
	molarMass     float64 // kg/mol
	safety        *SafetyClass
	potentials    []GWPValue
	limits        Limits
	shiftH        float64 // J/mol, subtracted
	shiftS        float64
	reference     Reference
}

// Designations lists every designation on file, pure fluids first.
func Designations() []string { return append(data.Fluids(), data.Blends()...) }

// ByNumber compares designations as people count them: by the number, then by the letters; R-32 before R-134a before
// R-1234yf.
func ByNumber(a, b string) int {
	number := func(s string) (n int, before, after string) {
		s = strings.TrimPrefix(s, "R-")
		i := strings.IndexAny(s, "0123456789")
		if i < 0 {
			return 0, s, ""
		}
		j := i
		for j < len(s) && s[j] >= '0' && s[j] <= '9' {
			n = 10*n + int(s[j]-'0')
			j++
		}
		return n, s[:i], s[j:]
	}
	na, beforeA, afterA := number(a)
	nb, beforeB, afterB := number(b)
	return cmp.Or(cmp.Compare(beforeA, beforeB), cmp.Compare(na, nb), cmp.Compare(afterA, afterB))
}

// InOrder are the [Designations] as people count them.
func InOrder() []string {
	out := Designations()
	slices.SortFunc(out, ByNumber)
	return out
}

// canonical turns R448A, r-448a, 448A into R-448A; the letters after the number keep the case of the standard.
func canonical(name string) string {
	s := strings.TrimSpace(name)
	s = strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(s, "R"), "r"), "-")
	want := strings.ToLower("R-" + s)
	for _, d := range Designations() {
		if strings.ToLower(d) == want {
			return d
		}
	}
	return ""
}

// unknown is the error for a designation that is not on file.
func unknown(designation string) *UnknownError {
	e := &UnknownError{Designation: designation}
	digits := strings.TrimFunc(designation, func(c rune) bool { return c < '0' || c > '9' })
	for _, d := range Designations() {
		if digits != "" && strings.Contains(d, digits) && len(e.Near) < 6 {
			e.Near = append(e.Near, d)
		}
	}
	return e
}

// Load returns the refrigerant of an ASHRAE 34 / ISO 817 designation; R448A, r-448a and 448A are accepted.
//
//   - in: designation
//   - out: the refrigerant with its grade (A to D: how well the data are known)
//   - errors: [*UnknownError] with near names
//   - source: definition
//   - cost: about 5 ms for a four-component blend; keep the value
func Load(designation string) (*Refrigerant, error) {
	name := canonical(designation)
	if name == "" {
		return nil, unknown(designation)
	}
	b, err := data.LoadBlend(name)
	if errors.Is(err, data.ErrAbsent) {
		return build(name, []Part{{name, 1}}, Pure, "A", "published equation of state")
	}
	if err != nil {
		return nil, err
	}
	k := Zeotrope
	if b.Kind == "azeotrope" {
		k = Azeotrope
	}
	return build(name, partsOf(b), k, b.Grade, gradeReason(b.Grade, b.PairsMissing))
}

func gradeReason(grade string, missing []string) string {
	switch grade {
	case "A":
		return "every pair fitted with a departure function"
	case "B":
		return "every pair fitted to measurements"
	case "C":
		return "a pair rests on one parameter or on a general rule: approximate"
	}
	s := "no published parameters for a pair: approximate"
	if len(missing) > 0 {
		s += " (" + strings.Join(missing, ", ") + ")"
	}
	return s
}

// Blend returns a custom blend by mass fractions.
//
//   - in: 1 to 8 parts, mass fractions > 0 that add up to 1 within 0.001
//   - out: the refrigerant; its grade tells whether every pair is published
//   - errors: unknown designation, sum, repeated parts
//   - source: definition
func Blend(parts []Part) (*Refrigerant, error) {
	if len(parts) == 0 || len(parts) > eos.MaxN {
		return nil, fmt.Errorf("a blend has 1 to %d parts, not %d", eos.MaxN, len(parts))
	}
	sum := 0.0
	var own []Part
	for _, p := range parts {
		d := canonical(p.Designation)
		if d == "" || !slices.Contains(data.Fluids(), d) {
			return nil, &UnknownError{Designation: p.Designation}
		}
		if !(p.MassFraction > 0) || p.MassFraction > 1 {
			return nil, fmt.Errorf("mass fraction of %s is %g; allowed: more than 0, at most 1", d, p.MassFraction)
		}
		for _, q := range own {
			if q.Designation == d {
				return nil, fmt.Errorf("%s is named twice", d)
			}
		}
		own = append(own, Part{d, p.MassFraction})
		sum += p.MassFraction
	}
	if math.Abs(sum-1) > 1e-3 {
		return nil, fmt.Errorf("mass fractions add up to %g, not 1", sum)
	}
	name := ""
	for i := range own {
		own[i].MassFraction /= sum
		if i > 0 {
			name += "/"
		}
		name += own[i].Designation
	}
	if len(own) == 1 {
		return build(own[0].Designation, own, Pure, "A", "published equation of state")
	}
	return build(name, own, Zeotrope, "", "")
}

func build(name string, parts []Part, k Kind, grade, reason string) (*Refrigerant, error) {
	n := len(parts)
	designations := make([]string, n)
	for i, p := range parts {
		designations[i] = p.Designation
	}
	m, worst, missing, err := eos.New(designations)
	if err != nil {
		return nil, err
	}
	r := &Refrigerant{designation: name, kind: k, grade: grade, reason: reason, parts: parts, m: m, z: make([]float64, n)}
	mol := 0.0
	for i, p := range parts {
		mol += p.MassFraction / m.M[i]
	}
	for i, p := range parts {
		r.z[i] = p.MassFraction / m.M[i] / mol
	}
	m.SetGasConstant(r.z)
	r.molarMass = m.MolarMass(r.z)
	if r.grade == "" {
		r.grade, r.reason = worst, gradeReason(worst, missing)
	}
	if s, edition, err := data.SafetyOf(name); err == nil {
		r.safety = &SafetyClass{s.Class, edition, s.Evidence}
	} else if !errors.Is(err, data.ErrAbsent) {
		return nil, err
	}
	if r.potentials, err = Potentials(name); err != nil {
		return nil, err
	}
	r.setLimits()
	if err := r.setReference(); err != nil {
		return nil, err
	}
	return r, nil
}

// setLimits: the range of a blend is the narrowest of its components; one that is present with less than a quarter of the moles and freezes
// above (carbon dioxide in R-455A) does not bound it from below, which is our judgement.
func (r *Refrigerant) setLimits() {
	l := Limits{TMax: math.Inf(1), PMax: math.Inf(1)}
	for i, c := range r.m.Components {
		t := math.Max(c.TMin, c.TLow)
		if r.z[i] < 0.25 {
			t = math.Min(t, 0.55*c.TCrit)
		}
		l.TMin = math.Max(l.TMin, t)
		l.TMax = math.Min(l.TMax, c.TMax)
		l.PMax = math.Min(l.PMax, c.PMax)
	}
	T, rho, ok := r.m.Critical(r.z)
	if !ok {
		// Without a critical point of the model the mole-weighted one bounds saturation, with distance.
		for i, c := range r.m.Components {
			T += r.z[i] * c.TCrit
		}
		T *= 0.97
		_, v := r.m.Reducing(r.z, nil)
		rho = 1 / v
	}
	l.TCrit, l.RhoCrit = T, rho*r.molarMass
	// Deep in the cold some models split the liquid in two, or lose it: saturation begins where there is one stable liquid.
	if ok && r.m.N > 1 && slices.Min(r.z) > 1e-6 { // traces split no liquid
		for t := l.TMin; t < 0.75*T; t += 0.02 * T {
			l.TMin = t
			bub, okb := r.m.SatT(r.z, t, true, eos.NewtonMax)
			dew, okd := r.m.SatT(r.z, t, false, eos.NewtonMax)
			if okb && okd && dew.P < bub.P*(1+1e-9) && r.m.Instability(r.z, t, bub.Bulk, bub.P) < 1e-6 {
				break
			}
		}
	}
	l.PCrit = r.m.At(r.z, T, rho).P
	// Some equations end below 0 °C-range needs or below their own critical point in print; saturation is always allowed.
	l.TMax = math.Max(l.TMax, T)
	r.limits = l
}

func (r *Refrigerant) setReference() error {
	r.reference = IIR
	h, s, err := r.referenceShift(IIR)
	if err != nil {
		r.reference = NBP
		h, s, err = r.referenceShift(NBP)
	}
	r.shiftH, r.shiftS = h, s
	return err
}

// referenceShift returns what must be subtracted from raw molar h and s.
func (r *Refrigerant) referenceShift(ref Reference) (h, s float64, err error) {
	var e eos.Equilibrium
	var ok bool
	var h0, s0 float64
	switch ref {
	case IIR:
		if r.limits.TCrit > zeroCelsius && r.limits.TMin < zeroCelsius {
			e, ok = r.m.SatT(r.z, zeroCelsius, true, eos.NewtonMax)
		}
		h0, s0 = 200e3*r.molarMass, 1e3*r.molarMass
	case ASHRAE:
		if r.limits.TCrit > zeroCelsius-40 && r.limits.TMin < zeroCelsius-40 {
			e, ok = r.m.SatT(r.z, zeroCelsius-40, true, eos.NewtonMax)
		}
	case NBP:
		e, ok = r.m.SatP(r.z, num.StandardAtmosphere, true, eos.NewtonMax, r.limits.TMin, r.limits.TCrit)
	default:
		return 0, 0, r.outside("reference state", num.Dimensionless, float64(ref), float64(IIR), float64(NBP), reasonDefinition)
	}
	if !ok {
		return 0, 0, &num.NoConvergence{What: r.designation + ": reference state " + ref.String(), Solve: e.Solve}
	}
	q := r.m.At(r.z, e.T, e.RhoLiquid(r.m.N))
	return q.H - h0, q.S - s0, nil
}

func (r *Refrigerant) shift(o Options) (h, s float64, err error) {
	if o.Reference == ReferenceUnset || o.Reference == r.reference {
		return r.shiftH, r.shiftS, nil
	}
	return r.referenceShift(o.Reference)
}

// Designation returns the name by ASHRAE 34 / ISO 817, or the parts joined by "/" for a custom blend.
func (r *Refrigerant) Designation() string { return r.designation }

// Kind returns pure, azeotrope or zeotrope.
func (r *Refrigerant) Kind() Kind { return r.kind }

// Grade returns A to D, how well the data are known, and why. C and D are approximations.
func (r *Refrigerant) Grade() (grade, reason string) { return r.grade, r.reason }

// Composition returns the parts by mass.
func (r *Refrigerant) Composition() []Part { return slices.Clone(r.parts) }

// MolarMass returns kg/mol.
func (r *Refrigerant) MolarMass() float64 { return r.molarMass }

// Limits returns where the refrigerant may be evaluated.
func (r *Refrigerant) Limits() Limits { return r.limits }

// ReferenceUsed returns the reference state of results with these options: for an unset one IIR, or NBP where the
// substance has no saturated liquid at 0 °C.
func (r *Refrigerant) ReferenceUsed(o Options) Reference {
	if o.Reference == ReferenceUnset {
		return r.reference
	}
	return o.Reference
}

// SafetyClass is a safety group with where it was read.
type SafetyClass struct{ Class, Edition, Evidence string }

// Burns reports whether a refrigerant of this group burns, 2L as well; one of unknown group is taken to.
//
//   - out: true for groups 2L, 2 and 3, and where there is no group
//   - source: ANSI/ASHRAE Standard 34, the figure of the group (from memory); that a danger nobody knows is a danger:
//     judgement, ours
func (s SafetyClass) Burns() bool { return s.Class == "" || strings.ContainsAny(s.Class, "23") }

// Poisons reports whether little of a refrigerant of this group harms; one of unknown group is taken to.
//
//   - out: true for groups B, and where there is no group
//   - source: as [SafetyClass.Burns], the letter of the group
func (s SafetyClass) Poisons() bool { return s.Class == "" || strings.HasPrefix(s.Class, "B") }

// Safety returns the safety group, false when none is on file.
func (r *Refrigerant) Safety() (SafetyClass, bool) {
	if r.safety == nil {
		return SafetyClass{}, false
	}
	return *r.safety, true
}

// GWPValue is a warming potential in one edition.
type GWPValue struct {
	Value                     float64
	Edition, Source, Evidence string
}

// GWP returns the warming potentials on file.
func (r *Refrigerant) GWP() []GWPValue {
	return slices.Clone(r.potentials)
}

// GlideAt101 returns dew minus bubble temperature at 101.325 kPa, K.
//
//   - out: glide; 0 for a pure fluid
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition
func (r *Refrigerant) GlideAt101() (float64, error) {
	if r.m.N == 1 {
		return 0, nil
	}
	b, err := r.BubbleP(num.StandardAtmosphere, Options{})
	if err != nil {
		return 0, err
	}
	d, err := r.DewP(num.StandardAtmosphere, Options{})
	return d.T - b.T, err
}

// Equilibrium is a saturation point: one phase has the bulk composition, the other is incipient.
type Equilibrium struct {
	num.Solve
	T, P                 float64           // K, Pa
	RhoLiquid, RhoVapour float64           // kg/m³
	HLiquid, HVapour     float64           // J/kg
	SLiquid, SVapour     float64           // J/(kg K)
	LiquidMole           [eos.MaxN]float64 // mole fractions in the order of [Refrigerant.Composition], the rest 0
	VapourMole           [eos.MaxN]float64
}

func (r *Refrigerant) publish(e *eos.Equilibrium, o Options) (Equilibrium, error) {
	n := r.m.N
	dh, ds, err := r.shift(o)
	if err != nil {
		return Equilibrium{}, err
	}
	var z, w [eos.MaxN]float64
	copy(z[:], r.z)
	rho := e.IncRho(n)
	for i := range n {
		w[i] = e.Incipient[i] / rho
	}
	out := Equilibrium{Solve: e.Solve, T: e.T, P: e.P}
	r.mark(&out.Solve, e.T, e.P)
	bulk, inc := r.m.At(r.z, e.T, e.Bulk), r.m.At(w[:n], e.T, rho)
	Mw := r.m.MolarMass(w[:n])
	if e.Liquid {
		out.RhoLiquid, out.HLiquid, out.SLiquid = e.Bulk*r.molarMass, (bulk.H-dh)/r.molarMass, (bulk.S-ds)/r.molarMass
		out.RhoVapour, out.HVapour, out.SVapour = rho*Mw, (inc.H-dh)/Mw, (inc.S-ds)/Mw
		out.LiquidMole, out.VapourMole = z, w
	} else {
		out.RhoVapour, out.HVapour, out.SVapour = e.Bulk*r.molarMass, (bulk.H-dh)/r.molarMass, (bulk.S-ds)/r.molarMass
		out.RhoLiquid, out.HLiquid, out.SLiquid = rho*Mw, (inc.H-dh)/Mw, (inc.S-ds)/Mw
		out.LiquidMole, out.VapourMole = w, z
	}
	return out, nil
}

// mark warns of a result outside the published validity.
func (r *Refrigerant) mark(s *num.Solve, T, p float64) {
	l := &r.limits
	if T < l.TMin*(1-edge) || T > l.TMax*(1+edge) || p > l.PMax*(1+edge) {
		s.Warnings = append(s.Warnings, Extrapolated)
	}
}

func (r *Refrigerant) atT(T float64, liquid bool, o Options) (Equilibrium, error) {
	l := r.limits
	if !(T >= l.TMin && T < l.TCrit) && !(o.Extrapolate && T > 0.9*l.TMin && T < l.TCrit) {
		return Equilibrium{}, r.noSaturationAt(T)
	}
	e, ok := r.m.SatT(r.z, T, liquid, o.maxIter())
	if !ok {
		return Equilibrium{}, &num.NoConvergence{What: fmt.Sprintf("%s: saturation at %.3f K", r.designation, T), Solve: e.Solve, Last: e.P}
	}
	return r.publish(&e, o)
}

func (r *Refrigerant) atP(p float64, liquid bool, o Options) (Equilibrium, error) {
	l := r.limits
	if p > 0 && p < l.PCrit {
		e, ok := r.m.SatP(r.z, p, liquid, o.maxIter(), l.TMin*0.9, l.TCrit)
		if ok && (e.T >= l.TMin*(1-edge) || o.Extrapolate && e.T > 0.9*l.TMin) {
			return r.publish(&e, o)
		}
		if !ok && p > r.lowest(liquid) {
			return Equilibrium{}, &num.NoConvergence{
				What:  fmt.Sprintf("%s: saturation at %.1f Pa", r.designation, p),
				Solve: e.Solve,
				Last:  e.T,
			}
		}
	}
	return Equilibrium{}, r.outside(QuantitySaturationPressure, num.Pressure, p, r.lowest(liquid), l.PCrit, reasonSaturation)
}

// lowest is the saturation pressure at the lower limit, 0 where there is none.
func (r *Refrigerant) lowest(liquid bool) float64 {
	if e, ok := r.m.SatT(r.z, r.limits.TMin, liquid, eos.NewtonMax); ok {
		return e.P
	}
	return 0
}

// DewP returns the equilibrium at which vapour of the bulk composition first condenses at pressure p.
//
//		f_i(T, ρ', x) = f_i(T, ρ'', z)  for every component i
//
//	  - in: p, absolute pressure, Pa; from saturation at Limits().TMin to Limits().PCrit
//	  - out: T in K, both phases; the liquid is incipient
//	  - errors: [*RangeError]; [*num.NoConvergence] after o.MaxIter (0 means 50)
//	  - assumes: no oil, no non-condensable gas
//	  - source: definition; Newton on isochoric derivatives, Deiters and Bell (2018); start from Raoult's law
//	  - cost: under 1 ms; safe for concurrent use
func (r *Refrigerant) DewP(p float64, o Options) (Equilibrium, error) { return r.atP(p, false, o) }

// BubbleP returns the equilibrium at which liquid of the bulk composition first boils at pressure p.
//
//   - in: p, absolute pressure, Pa
//   - out: T in K, both phases; the vapour is incipient
//   - errors: as [Refrigerant.DewP]
//   - source: as [Refrigerant.DewP]
//   - cost: under 1 ms
func (r *Refrigerant) BubbleP(p float64, o Options) (Equilibrium, error) { return r.atP(p, true, o) }

// DewT returns the dew point at temperature T.
//
//   - in: T, K; Limits().TMin ≤ T < Limits().TCrit
//   - out: P in Pa, both phases
//   - errors: as [Refrigerant.DewP]
//   - source: as [Refrigerant.DewP]
//   - cost: under 1 ms
func (r *Refrigerant) DewT(T float64, o Options) (Equilibrium, error) { return r.atT(T, false, o) }

// BubbleT returns the bubble point at temperature T.
//
//   - in: T, K; Limits().TMin ≤ T < Limits().TCrit
//   - out: P in Pa, both phases
//   - errors: as [Refrigerant.DewP]
//   - source: as [Refrigerant.DewP]
//   - cost: under 1 ms
func (r *Refrigerant) BubbleT(T float64, o Options) (Equilibrium, error) { return r.atT(T, true, o) }
