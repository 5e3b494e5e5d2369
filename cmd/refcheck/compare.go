package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"coldwright/num"
	"coldwright/refrigerant"
)

// properties compared, in the order of the table. Enthalpy against the anchor state is in units of R T, entropy in
// units of R, the others are relative.
var properties = []string{"p_sat", "T_sat", "rho_sat", "rho", "h", "s", "cp", "w"}

// reasons name every known difference between the library and the publications the equations come from, by the component that brings it in.
var reasons = map[string]reason{
	"R-717":       {"gas constant 8.314462618 J/(mol K) as published, 8.3144598 in the library", 1e-5},
	"R-1234ze(E)": {"gas constant 8.3144621 J/(mol K) as published, 8.314472 in the library", 1e-4},
	"R-245fa":     {"ideal part as published; the library divides its characteristic temperatures by 427.16 K instead of 427.01 K", 1e-2},
	"R-123":       {"ideal part taken with the reducing temperature of the equation, 456.831 K; the library takes 456.82 K", 1e-3},
}

// reason is why a component may deviate, and by how much.
type reason struct {
	text  string
	limit float64
}

// Where neither side has a reason to differ, these bound the difference.
const (
	plainLimit = 1e-6
	// The library ends its iteration for bubble and dew points of blends about here. Ours goes on to a difference in
	// ln f that the table shows beside it.
	blendSaturation = 1e-5
	// A saturation point farther off than this is another solution, not another rounding.
	otherSolution = 1e-4
)

// comparison of one designation.
type comparison struct {
	Designation              string
	Pure                     bool
	Parts                    []string
	States                   int // compared
	Refused                  int // the library had no answer
	Wrong                    int // the library's bubble or dew point is refuted
	FirstRefusal, FirstWrong string
	Handed                   []string // pairs of which the library has no parameters; it was given ours
	Other                    []string // pairs of which it has different parameters
	// Worst is the largest deviation, Rest what is left of it once the ideal part is evaluated in the library's way, see ideal.
	Worst, Rest map[string]float64
	Where       map[string]string
	LnF         float64  // largest difference of ln f in our saturation points
	Unknown     string   // why the library does not know it
	Ours        []string // our own failures
}

func (c *comparison) see(property string, deviation, rest float64, where string) {
	for m, d := range map[*map[string]float64]float64{&c.Worst: deviation, &c.Rest: rest} {
		if math.IsNaN(d) {
			d = math.Inf(1)
		}
		if d = math.Abs(d); d > (*m)[property] {
			(*m)[property] = d
			if m == &c.Worst {
				c.Where[property] = where
			}
		}
	}
}

// allowed is the limit for a property, and why it is not the plain one.
func (c *comparison) allowed(property string) (limit float64, why []string) {
	limit = plainLimit
	if !c.Pure && strings.HasSuffix(property, "_sat") {
		limit = blendSaturation
	}
	for _, p := range c.Parts {
		if r, ok := reasons[p]; ok {
			limit = max(limit, r.limit)
			why = append(why, p+": "+r.text)
		}
	}
	return limit, why
}

// how many states a designation is compared at: bubble and dew by temperature and by pressure, the rest in one phase.
const (
	byTemperature = 32
	byPressure    = 16
	inOnePhase    = 176
	topShare      = 0.97 // of the critical temperature: nearer to it every solver's tolerance grows without bound
)

func compareOne(l *library, designation string) *comparison {
	c := &comparison{Designation: designation, Worst: map[string]float64{}, Rest: map[string]float64{}, Where: map[string]string{}}
	r, err := refrigerant.Load(designation)
	if err != nil {
		c.Ours = append(c.Ours, err.Error())
		return c
	}
	c.Pure = r.Kind() == refrigerant.Pure
	for _, p := range r.Composition() {
		c.Parts = append(c.Parts, p.Designation)
	}
	ideal, err := newIdealParts(r)
	if err != nil {
		c.Ours = append(c.Ours, err.Error())
		return c
	}
	mix, err := l.use(r)
	if err != nil {
		c.Unknown = err.Error()
		return c
	}
	c.Handed, c.Other = mix.handed, mix.other
	b, lim := boundsOf(r), r.Limits()
	var o refrigerant.Options
	ask := func(n int, line string) []float64 {
		v, err := l.numbers(n, line)
		if err != nil {
			c.Refused++
			if c.FirstRefusal == "" {
				c.FirstRefusal = line + ": " + err.Error()
			}
			return nil
		}
		c.States++
		return v
	}
	top := topShare * lim.TCrit
	for i := range byTemperature {
		T := between(b.TLo, top, i, byTemperature)
		for k, find := range []func(float64, refrigerant.Options) (refrigerant.Equilibrium, error){r.BubbleT, r.DewT} {
			e, err := find(T, o)
			if err != nil {
				c.Ours = append(c.Ours, err.Error())
				continue
			}
			lnF, _, _ := r.EquilibriumError(e)
			c.LnF = max(c.LnF, lnF)
			if v := ask(5, fmt.Sprintf("C;%s;%.17g;0", kinds[k], T)); v != nil {
				where := fmt.Sprintf("%s at %.2f K", kinds[k], T)
				if math.Abs(e.P/v[1]-1) > otherSolution && refuted(r, e.P, math.Sqrt(e.P*v[1]), T, T, k == 0) {
					c.wrong(fmt.Sprintf("%s: %.6g Pa, ours %.6g Pa", where, v[1], e.P))
					continue
				}
				c.see("p_sat", e.P/v[1]-1, e.P/v[1]-1, where)
				rho := e.RhoLiquid
				if k == 1 {
					rho = e.RhoVapour
				}
				c.see("rho_sat", rho/v[2]-1, rho/v[2]-1, where)
			}
		}
	}
	hi, err := r.DewT(top, o)
	if err != nil {
		c.Ours = append(c.Ours, err.Error())
		return c
	}
	lo, err := r.BubbleT(b.TLo, o)
	if err != nil {
		c.Ours = append(c.Ours, err.Error())
		return c
	}
	for i := range byPressure {
		p := math.Exp(between(math.Log(math.Max(b.PLo, lo.P*1.0001)), math.Log(hi.P), i, byPressure))
		for k, find := range []func(float64, refrigerant.Options) (refrigerant.Equilibrium, error){r.BubbleP, r.DewP} {
			e, err := find(p, o)
			if err != nil {
				c.Ours = append(c.Ours, err.Error())
				continue
			}
			if v := ask(5, fmt.Sprintf("C;%s;%.17g;0", kinds[2+k], p)); v != nil {
				where := fmt.Sprintf("%s at %.0f Pa", kinds[2+k], p)
				if math.Abs(e.T/v[0]-1) > otherSolution && refuted(r, p, p, e.T, (e.T+v[0])/2, k == 0) {
					c.wrong(fmt.Sprintf("%s: %.2f K, ours %.2f K", where, v[0], e.T))
					continue
				}
				c.see("T_sat", e.T/v[0]-1, e.T/v[0]-1, where)
			}
		}
	}
	// One phase on a lattice with irrational steps. The first is the anchor of enthalpy and entropy: thin vapour.
	var anchor, bent refrigerant.State // bent: with the library's ideal part
	var theirs []float64
	const golden, plastic = 0.6180339887498949, 0.7548776662466927
	for k, n := 0, 0; n < inOnePhase && k < 4*inOnePhase; k++ {
		T := b.TLo + (b.THi-b.TLo)*math.Mod(0.37+float64(k)*golden, 1)
		p := math.Exp(math.Log(b.PLo) + math.Log(b.PHi/b.PLo)*math.Mod(0.11+float64(k)*plastic, 1))
		if k == 0 {
			T, p = b.THi, b.PLo
		}
		s, err := r.StatePT(p, T, o)
		if err != nil {
			c.Ours = append(c.Ours, err.Error())
			continue
		}
		if s.Phase == refrigerant.TwoPhase {
			continue
		}
		n++
		phase := "gas"
		switch {
		case s.Phase == refrigerant.Supercritical:
			phase = "supercritical"
		case s.Rho > lim.RhoCrit:
			phase = "liquid"
		case T > lim.TCrit && c.Pure:
			phase = "supercritical_gas"
		}
		v := ask(5, fmt.Sprintf("S;%s;%.17g;%.17g", phase, p, T))
		if v == nil {
			continue
		}
		if theirs == nil {
			anchor, theirs = s, v
		}
		where := fmt.Sprintf("%s at %.0f Pa, %.2f K", s.Phase, p, T)
		R := num.GasConstant / r.MolarMass()
		q, err := ideal.theirs(s)
		if err != nil {
			c.Ours = append(c.Ours, err.Error())
			continue
		}
		if bent.T == 0 {
			bent = q
		}
		c.see("rho", s.Rho/v[0]-1, s.Rho/v[0]-1, where)
		c.see("h", (s.H-anchor.H-(v[1]-theirs[1]))/(R*T), (q.H-bent.H-(v[1]-theirs[1]))/(R*T), where)
		c.see("s", (s.S-anchor.S-(v[2]-theirs[2]))/R, (q.S-bent.S-(v[2]-theirs[2]))/R, where)
		c.see("cp", s.Cp/v[3]-1, q.Cp/v[3]-1, where)
		c.see("w", s.SpeedOfSound/v[4]-1, q.SpeedOfSound/v[4]-1, where)
	}
	return c
}

// compare runs the list against the library, one process for each core.
func compare(out io.Writer, list []string) []*comparison {
	free := libraries(20 * time.Second)
	var all []*comparison
	fmt.Fprintf(out, "%-14s %7s %8s", "", "states", "no answer")
	for _, p := range properties {
		fmt.Fprintf(out, " %9s", p)
	}
	fmt.Fprintln(out)
	inOrder(list, func(d string) *comparison {
		l := <-free
		defer func() { free <- l }()
		return compareOne(l, d)
	}, func(c *comparison) {
		fmt.Fprintf(out, "%-14s %7d %8d", c.Designation, c.States, c.Refused)
		for _, p := range properties {
			fmt.Fprintf(out, " %9.1e", c.Rest[p])
		}
		fmt.Fprintf(out, "  %s %s\n", strings.Join(c.Handed, " "), c.Unknown)
		for _, why := range c.Ours {
			fmt.Fprintf(out, "  %s\n", why)
		}
		all = append(all, c)
	})
	for range cap(free) {
		(<-free).stop()
	}
	return all
}

func (c *comparison) wrong(where string) {
	c.Wrong++
	if c.FirstWrong == "" {
		c.FirstWrong = where
	}
}

// refuted holds our bubble or dew point at p, T against another that claims the same, by a state half way between the
// two (pMid or TMid). Ours and the other disagree on whether that is liquid (bubble) or vapour (dew). Ours stands if
// the state is what ours says and is stable: one phase with no trial phase below its tangent plane, or two phases
// with equal fugacities.
func refuted(r *refrigerant.Refrigerant, p, pMid, T, TMid float64, bubble bool) bool {
	s, err := r.StatePT(pMid, TMid, refrigerant.Options{})
	if err != nil {
		return false
	}
	bulk := refrigerant.Vapour
	if bubble {
		bulk = refrigerant.Liquid
	}
	if beyond := (pMid > p || TMid < T) == bubble; beyond != (s.Phase == bulk) {
		return false
	}
	return again(r, s) == "" && (s.Phase == refrigerant.TwoPhase || r.Instability(s) <= depthTolerance)
}

// judge says what is wrong with a comparison that the document cannot explain.
func (c *comparison) judge() error {
	var errs []error
	for _, why := range c.Ours {
		errs = append(errs, errors.New(why))
	}
	if c.Unknown != "" || len(c.Other) > 0 {
		return errors.Join(errs...)
	}
	for _, p := range properties {
		if limit, _ := c.allowed(p); !(c.Rest[p] <= limit) {
			errs = append(errs, fmt.Errorf("%s: %s deviates by %.2e (%s), allowed %.0e", c.Designation, p, c.Rest[p], c.Where[p], limit))
		}
	}
	return errors.Join(errs...)
}

// idealParts evaluates the ideal part of a blend in the library's way: of a component whose equation is reduced by
// another temperature than its critical one, the library takes the ideal part at the critical temperature over T.
// That is the ideal part at T·(reducing over critical).
type idealParts struct {
	r     *refrigerant.Refrigerant
	parts []idealPart
}

type idealPart struct {
	pure  *refrigerant.Refrigerant
	share float64 // by mass
	ratio float64
}

func newIdealParts(r *refrigerant.Refrigerant) (*idealParts, error) {
	q := &idealParts{r: r}
	if r.Kind() == refrigerant.Pure {
		return q, nil
	}
	for _, p := range r.Composition() {
		f, err := refrigerant.EquationOf(p.Designation)
		if err != nil {
			return nil, err
		}
		ratio := f.TReducing / f.TCritical
		if math.Abs(ratio-1) < 1e-9 {
			continue
		}
		pure, err := refrigerant.Load(p.Designation)
		if err != nil {
			return nil, err
		}
		q.parts = append(q.parts, idealPart{pure, p.MassFraction, ratio})
	}
	return q, nil
}

// theirs is s with the ideal part of the library. A constant in h and s is left, which the anchor takes away.
func (q *idealParts) theirs(s refrigerant.State) (refrigerant.State, error) {
	if len(q.parts) == 0 {
		return s, nil
	}
	cp := 0.0
	for _, p := range q.parts {
		thin := 1e-7 * p.pure.Limits().RhoCrit
		a, err := p.pure.StateTD(s.T, thin, refrigerant.Options{})
		if err != nil {
			return s, err
		}
		b, err := p.pure.StateTD(s.T*p.ratio, thin, refrigerant.Options{})
		if err != nil {
			return s, err
		}
		s.H += p.share * (b.H/p.ratio - a.H)
		s.S += p.share * (b.S - a.S)
		cp += p.share * (b.Cp - a.Cp)
	}
	slope := s.SpeedOfSound * s.SpeedOfSound * s.Cv / s.Cp // (∂p/∂ρ) at constant temperature, which has no ideal part
	s.Cp += cp
	s.Cv += cp
	s.SpeedOfSound = math.Sqrt(slope * s.Cp / s.Cv)
	return s, nil
}
