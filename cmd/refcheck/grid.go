package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"time"

	"coldwright/refrigerant"
	"coldwright/units"
)

// What counts as solved. All are far below what any instrument or equation tells apart; they are set by double precision.
const (
	lnFTolerance     = 1e-7 // ln f: steep equations in cold liquid carry this much round-off
	pTolerance       = 1e-7 // relative
	densityTolerance = 1e-8 // relative; a liquid's pressure is judged by the density that would correct it
	hTolerance       = 1e-3 // J/kg
	sTolerance       = 1e-5 // J/(kg K)
	tTolerance       = 1e-4 // K, back at the temperature the inputs were made from
	shareTolerance   = 1e-7 // kg/kg
	depthTolerance   = 1e-7 // R T, tangent plane
)

// kinds of calls, in the order of the table.
var kinds = []string{"bubble T", "dew T", "bubble p", "dew p", "p-T", "p-h", "p-s", "T-rho", "p-rho", "p-x", "T-x", "T-s", "T-h", "h-s"}

// failure is one call that did not end in a verified solution.
type failure struct{ designation, kind, inputs, why string }

func (f failure) String() string {
	return fmt.Sprintf("%s; %s; %s; %s", f.designation, f.kind, f.inputs, f.why)
}

// tally counts one designation.
type tally struct {
	designation      string
	tried, converged map[string]int
	failures         []failure
	bounds           bounds
	keep             bool   // whether to keep the calls that were answered
	calls            []call // for another program to answer
}

// call is an answered call: what was given and the state that was found.
type call struct {
	kind string
	a, b float64
	s    refrigerant.State
}

func (t *tally) kept(kind string, a, b float64, s refrigerant.State) {
	if t.keep {
		t.calls = append(t.calls, call{kind, a, b, s})
	}
}

// bounds is the trade's range of a refrigerant: −60 °C or where its equation begins to 0.98 of the critical
// temperature and 5 kPa to 0.95 of the critical pressure; carbon dioxide to 140 bar. Single phases go on to 160 °C,
// where no discharge gas arrives.
type bounds struct{ TLo, TSat, THi, PLo, PSat, PHi float64 }

func boundsOf(r *refrigerant.Refrigerant) bounds {
	l := r.Limits()
	b := bounds{
		TLo:  math.Max(l.TMin, math.Min(float64(units.Celsius(-60)), 0.6*l.TCrit)),
		TSat: 0.98 * l.TCrit, PLo: 5e3, PSat: 0.95 * l.PCrit, PHi: math.Min(0.95*l.PCrit, l.PMax),
	}
	b.THi = math.Min(l.TMax, math.Max(b.TSat, float64(units.Celsius(160))))
	if r.Designation() == "R-744" {
		b.PHi = 14e6
	}
	return b
}

// between is the i-th of n points from lo to hi, both included.
func between(lo, hi float64, i, n int) float64 {
	if n < 2 {
		return lo
	}
	return lo + (hi-lo)*float64(i)/float64(n-1)
}

// try counts one call; check returns what is wrong with it. A panic is a failure like any other.
func (t *tally) try(kind, inputs string, check func() string) (ok bool) {
	t.tried[kind]++
	why := func() (why string) {
		defer func() {
			if v := recover(); v != nil {
				why = fmt.Sprintf("panic: %v", v)
			}
		}()
		return check()
	}()
	if why == "" {
		t.converged[kind]++
		return true
	}
	t.failures = append(t.failures, failure{t.designation, kind, inputs, why})
	return false
}

func checkGrid(designation string, states int, keep bool) *tally {
	t := &tally{designation: designation, keep: keep, tried: map[string]int{}, converged: map[string]int{}}
	r, err := refrigerant.Load(designation)
	if err != nil {
		t.try("load", "", func() string { return err.Error() })
		return t
	}
	t.designation = r.Designation()
	t.bounds = boundsOf(r)
	t.saturation(r, max(states/40, 5))
	side := max(int(math.Ceil(math.Sqrt(0.7*float64(states)/8))), 4)
	t.onePhase(r, side)
	side = max(int(math.Ceil(math.Sqrt(0.3*float64(states)/9))), 3)
	t.twoPhases(r, side)
	return t
}

// saturation: n temperatures and n pressures, bubble and dew each.
func (t *tally) saturation(r *refrigerant.Refrigerant, n int) {
	b := t.bounds
	verify := func(e refrigerant.Equilibrium, err error) string {
		if err != nil {
			return err.Error()
		}
		lnF, vapour, liquid := r.EquilibriumError(e)
		if !(e.RhoLiquid > e.RhoVapour) {
			return "the phases are the same"
		}
		return off("ln f", lnF, lnFTolerance, "vapour pressure", vapour, pTolerance, "liquid density", liquid, densityTolerance)
	}
	var low [2]float64 // bubble and dew pressure at TLo
	for i := range n {
		T := between(b.TLo, b.TSat, i, n)
		inputs := fmt.Sprintf("T=%.17g", T)
		var e [2]refrigerant.Equilibrium
		ok := true
		for k, kind := range kinds[:2] {
			ok = t.try(kind, inputs, func() (why string) {
				var err error
				if k == 0 {
					e[k], err = r.BubbleT(T, refrigerant.Options{})
				} else {
					e[k], err = r.DewT(T, refrigerant.Options{})
				}
				why = verify(e[k], err)
				if why == "" && k == 1 && ok && e[1].P > e[0].P*(1+pTolerance) {
					why = fmt.Sprintf("dew pressure %.10g above bubble pressure %.10g", e[1].P, e[0].P)
				}
				return why
			}) && ok
			if ok {
				t.kept(kind, T, 0, bulk(e[k], k == 0))
			}
			if i == 0 {
				low[k] = e[k].P
			}
		}
	}
	for i := range n {
		for k, kind := range kinds[2:4] {
			lo := math.Max(b.PLo, low[k]*(1+1e-9))
			p := math.Exp(between(math.Log(lo), math.Log(b.PSat), i, n))
			var e refrigerant.Equilibrium
			if t.try(kind, fmt.Sprintf("p=%.17g", p), func() string {
				find := r.BubbleP
				if k == 1 {
					find = r.DewP
				}
				var err error
				e, err = find(p, refrigerant.Options{})
				if why := verify(e, err); why != "" {
					return why
				}
				return off("pressure", e.P/p-1, pTolerance)
			}) {
				t.kept(kind, p, 0, bulk(e, k == 0))
			}
		}
	}
}

// back calls every flash with inputs read off a verified state. share says whether another program may be asked the same.
func (t *tally) back(r *refrigerant.Refrigerant, base refrigerant.State, share bool) {
	var o refrigerant.Options
	// Above the critical temperature of a blend two phases are found by pressure only; by temperature the engine says
	// so, and that is no answer to count.
	beyond := base.Phase == refrigerant.TwoPhase && base.T >= r.Limits().TCrit
	flash := func(kind, inputs string, a, b float64, call func() (refrigerant.State, error), given func(refrigerant.State) string) {
		if beyond && strings.HasPrefix(kind, "T-") {
			if _, err := call(); err != nil {
				return
			}
		}
		ok := t.try(kind, inputs, func() string {
			s, err := call()
			if err != nil {
				return err.Error()
			}
			if why := whole(s); why != "" {
				return why
			}
			if why := given(s); why != "" {
				return why
			}
			if kind == "T-h" && s.P < base.P*(1-pTolerance) {
				return stable(r, s) // the other of two pressures with this enthalpy
			}
			if s.Phase != refrigerant.TwoPhase {
				if why := again(r, s); why != "" {
					return why
				}
			}
			return same(s, base)
		})
		if ok && share {
			t.kept(kind, a, b, base)
		}
	}
	p, T := base.P, base.T
	flash(
		"p-h",
		fmt.Sprintf("p=%.17g h=%.17g (T=%.6f %v)", p, base.H, T, base.Phase),
		p,
		base.H,
		func() (refrigerant.State, error) { return r.StatePH(p, base.H, o) },
		func(s refrigerant.State) string {
			return off("given pressure", s.P/p-1, pTolerance, "given enthalpy", s.H-base.H, hTolerance)
		},
	)
	flash(
		"p-s",
		fmt.Sprintf("p=%.17g s=%.17g (T=%.6f %v)", p, base.S, T, base.Phase),
		p,
		base.S,
		func() (refrigerant.State, error) { return r.StatePS(p, base.S, o) },
		func(s refrigerant.State) string {
			return off("given pressure", s.P/p-1, pTolerance, "given entropy", s.S-base.S, sTolerance)
		},
	)
	flash(
		"T-rho",
		fmt.Sprintf("T=%.17g rho=%.17g (p=%.8g %v)", T, base.Rho, p, base.Phase),
		T,
		base.Rho,
		func() (refrigerant.State, error) { return r.StateTD(T, base.Rho, o) },
		func(s refrigerant.State) string {
			return off("given temperature", s.T-T, 1e-7, "given density", s.Rho/base.Rho-1, densityTolerance)
		},
	)
	flash(
		"p-rho",
		fmt.Sprintf("p=%.17g rho=%.17g (T=%.6f %v)", p, base.Rho, T, base.Phase),
		p,
		base.Rho,
		func() (refrigerant.State, error) { return r.StatePD(p, base.Rho, o) },
		func(s refrigerant.State) string {
			return off("given pressure", s.P/p-1, pTolerance, "given density", s.Rho/base.Rho-1, densityTolerance)
		},
	)
	flash(
		"T-s",
		fmt.Sprintf("T=%.17g s=%.17g (p=%.8g %v)", T, base.S, p, base.Phase),
		T,
		base.S,
		func() (refrigerant.State, error) { return r.StateTS(T, base.S, o) },
		func(s refrigerant.State) string {
			return off("given temperature", s.T-T, 1e-7, "given entropy", s.S-base.S, sTolerance)
		},
	)
	flash(
		"T-h",
		fmt.Sprintf("T=%.17g h=%.17g (p=%.8g %v)", T, base.H, p, base.Phase),
		T,
		base.H,
		func() (refrigerant.State, error) { return r.StateTH(T, base.H, o) },
		func(s refrigerant.State) string {
			return off("given temperature", s.T-T, 1e-7, "given enthalpy", s.H-base.H, hTolerance)
		},
	)
	if t.tried["p-h"]%25 != 1 {
		return // every 25th point: h and s cost more than all the others together
	}
	flash("h-s", fmt.Sprintf("h=%.17g s=%.17g (p=%.8g T=%.6f %v)", base.H, base.S, p, T, base.Phase), base.H, base.S,
		func() (refrigerant.State, error) { return r.StateHS(base.H, base.S, o) },
		func(s refrigerant.State) string {
			return off("given enthalpy", s.H-base.H, hTolerance, "given entropy", s.S-base.S, sTolerance)
		})
}

// onePhase: a grid of temperatures and pressures, and four pressures close to saturation at every temperature that
// has it. The phase is held against the bubble and dew points and against trial phases.
func (t *tally) onePhase(r *refrigerant.Refrigerant, n int) {
	b, l := t.bounds, r.Limits()
	for i := range n {
		T := between(b.TLo, b.THi, i, n)
		var bub, dew float64
		var ps []float64
		for k := range n {
			ps = append(ps, math.Exp(between(math.Log(b.PLo), math.Log(b.PHi), k, n)))
		}
		if T <= b.TSat {
			eb, err1 := r.BubbleT(T, refrigerant.Options{})
			ed, err2 := r.DewT(T, refrigerant.Options{})
			if err1 == nil && err2 == nil { // what fails here is counted by saturation
				bub, dew = eb.P, ed.P
				for i, p := range []float64{bub * (1 + 1e-6), bub * (1 - 1e-6), dew * (1 + 1e-6), dew * (1 - 1e-6)} {
					if i > 1 && r.Kind() == refrigerant.Pure {
						break // the same two
					}
					if p >= b.PLo && p <= b.PHi {
						ps = append(ps, p)
					}
				}
			}
		}
		for k, p := range ps {
			share := k < n // closer to saturation another program's last digits decide the phase
			var base refrigerant.State
			ok := t.try("p-T", fmt.Sprintf("p=%.17g T=%.17g", p, T), func() string {
				s, err := r.StatePT(p, T, refrigerant.Options{})
				if err != nil {
					return err.Error()
				}
				base = s
				if why := again(r, s); why != "" {
					return why
				}
				if why := off("given pressure", s.P/p-1, pTolerance, "given temperature", s.T-T, 1e-7); why != "" {
					return why
				}
				if bub > 0 {
					want := refrigerant.TwoPhase
					if p > bub {
						want = refrigerant.Liquid
					} else if p < dew {
						want = refrigerant.Vapour
					}
					if s.Phase != want && !(T >= l.TCrit && s.Phase == refrigerant.Supercritical) {
						return fmt.Sprintf("%v, bubble %.10g dew %.10g", s.Phase, bub, dew)
					}
				}
				if s.Phase != refrigerant.TwoPhase {
					return off("tangent plane", r.Instability(s), depthTolerance)
				}
				return ""
			})
			if ok {
				if share {
					t.kept("p-T", p, T, base)
				}
				t.back(r, base, share)
			}
		}
	}
}

// twoPhases: a grid of pressures and vapour shares.
func (t *tally) twoPhases(r *refrigerant.Refrigerant, n int) {
	b := t.bounds
	lo := b.PLo
	if e, err := r.BubbleT(b.TLo, refrigerant.Options{}); err == nil {
		lo = math.Max(lo, e.P*(1+1e-9))
	}
	for i := range n {
		p := math.Exp(between(math.Log(lo), math.Log(b.PSat), i, n))
		for k := range n {
			x := between(0, 1, k, n)
			var base refrigerant.State
			ok := t.try("p-x", fmt.Sprintf("p=%.17g x=%.17g", p, x), func() string {
				s, err := r.StatePX(p, x, refrigerant.Options{})
				if err != nil {
					return err.Error()
				}
				base = s
				if s.Phase != refrigerant.TwoPhase {
					return fmt.Sprintf("%v", s.Phase)
				}
				if why := off("given pressure", s.P/p-1, pTolerance, "given vapour share", s.VapourMass-x, shareTolerance); why != "" {
					return why
				}
				return again(r, s)
			})
			if !ok {
				continue
			}
			t.back(r, base, x > 0 && x < 1) // on the edge the last digits of h decide the phase
			// Another program's share may be molar: in a blend that is another number.
			pure := r.Kind() == refrigerant.Pure
			if pure {
				t.kept("p-x", p, x, base)
			}
			if base.T >= r.Limits().TCrit {
				continue // the dew line of a blend leads past its critical temperature and back: T and x no longer name one state
			}
			ok = t.try("T-x", fmt.Sprintf("T=%.17g x=%.17g", base.T, x), func() string {
				s, err := r.StateTX(base.T, x, refrigerant.Options{})
				if err != nil {
					return err.Error()
				}
				if why := whole(s); why != "" {
					return why
				}
				if why := off("given temperature", s.T-base.T, 1e-6, "given vapour share", s.VapourMass-x, shareTolerance); why != "" {
					return why
				}
				return same(s, base)
			})
			if ok && pure {
				t.kept("T-x", base.T, x, base)
			}
		}
	}
}

func sum(m map[string]int) (n int) {
	for _, v := range m {
		n += v
	}
	return n
}

// gridResult is what the table of a designation needs.
type gridResult struct {
	Designation      string
	Bounds           bounds
	Tried, Converged map[string]int
	Failures         []string
	Library          *sideResult `json:",omitempty"` // the other library on the same calls, if it was asked
}

func (q gridResult) sums() (converged, tried int) {
	for _, k := range kinds {
		converged += q.Converged[k]
		tried += q.Tried[k]
	}
	return converged, tried
}

// grid runs the list, prints the table and writes the failures to file. The other library gets the same calls for as
// long as its limit for each designation says; at none it is not asked.
func grid(out io.Writer, list []string, states int, file string, limit time.Duration) (all []gridResult, err error) {
	var free chan *library
	if limit > 0 {
		free = libraries(libraryLimit)
		defer func() {
			for range cap(free) {
				(<-free).stop()
			}
		}()
	}
	one := func(d string) gridResult {
		t := checkGrid(d, states, limit > 0)
		q := gridResult{Designation: t.designation, Bounds: t.bounds, Tried: t.tried, Converged: t.converged}
		for _, f := range t.failures {
			q.Failures = append(q.Failures, f.String())
		}
		if r, err := refrigerant.Load(d); err == nil && limit > 0 {
			l := <-free
			q.Library, err = sideBySide(l, r, t, limit)
			if err != nil {
				q.Library.Unknown = err.Error()
			}
			free <- l
		}
		return q
	}
	fmt.Fprintf(out, "%-18s", "converged / tried")
	for _, k := range kinds {
		fmt.Fprintf(out, " %13s", k)
	}
	fmt.Fprintf(out, " %15s\n", "all")
	row := func(q gridResult) {
		fmt.Fprintf(out, "%-18s", q.Designation)
		for _, k := range kinds {
			fmt.Fprintf(out, " %13s", fmt.Sprintf("%d/%d", q.Converged[k], q.Tried[k]))
		}
		ok, all := q.sums()
		fmt.Fprintf(out, " %15s\n", fmt.Sprintf("%d/%d", ok, all))
	}
	total := gridResult{Designation: "all", Tried: map[string]int{}, Converged: map[string]int{}}
	inOrder(list, one, func(q gridResult) {
		row(q)
		if l := q.Library; l != nil {
			fmt.Fprintf(
				out,
				"  library: %d of %d asked, %d refused, %d hung, %d another state %s\n",
				sum(l.Tried),
				sum(l.Grid),
				sum(l.Refused),
				sum(l.Hung),
				sum(l.Other),
				l.Unknown,
			)
		}
		for k, n := range q.Tried {
			total.Tried[k] += n
			total.Converged[k] += q.Converged[k]
		}
		total.Failures = append(total.Failures, q.Failures...)
		all = append(all, q)
	})
	row(total)
	text := strings.Join(append(total.Failures, ""), "\n")
	if file != "" {
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			return all, err
		}
	}
	if n := len(total.Failures); n > 0 {
		fmt.Fprintf(out, "\nfailures (designation; call; inputs; what is wrong):\n%s", text)
		return all, fmt.Errorf("%d calls did not end in a verified solution", n)
	}
	return all, nil
}
