package refrigerant

import (
	"math"
)

// ChartOptions say which isotherms a chart has: at First and every Step from there, up and down, K; steps are of 1 K or
// more. A zero Step, or a First that is no temperature, means 20 K from 0 °C. It is comparable, so that whoever
// keeps charts can find them by it.
type ChartOptions struct{ First, Step float64 }

// ChartPoint is a state on a curve of a chart.
type ChartPoint struct {
	P, H float64 // Pa absolute, J/kg
	T, S float64 // K, J/(kg K)
}

// ChartLine is a curve along which one value stays the same: K on isotherms, J/(kg K) on isentropes. Two-phase points
// of an isotherm are those from index Bubble to index Dew, both −1 above the critical temperature.
type ChartLine struct {
	Value       float64
	Points      []ChartPoint
	Bubble, Dew int
}

// Chart is the pressure–enthalpy diagram of a refrigerant as curves of states. Curves of blends are those of the bulk
// composition: bubble and dew line are two, and an isotherm falls between them.
type Chart struct {
	PMin, PMax  float64      // where isotherms end, Pa
	Bubble, Dew []ChartPoint // from cold to the critical point, which is the last of both
	Critical    ChartPoint   // its S is not given
	Isotherms   []ChartLine  // from liquid at PMax to vapour at PMin, cold ones first
	Isentropes  []ChartLine  // superheated vapour, from PMin up
	ZeroASHRAE  float64      // enthalpy, in the reference of the fit, that is 0 in the reference ASHRAE; NaN where that does not exist

	fit *Fit
}

// Fit returns the fit the chart was made from.
func (c *Chart) Fit() *Fit { return c.fit }

const (
	chartCold    = 40.0  // K below 0 °C: the lowest isotherm, and the pressure where the chart begins
	chartHot     = 180.0 // K above 0 °C: the highest
	chartTop     = 1.12  // chart ends at this share of the critical pressure, so that the dome is seen to close
	chartLines   = 6     // isentropes
	chartSlices  = 7     // of the entropy of vaporisation at 0 °C: the distance of isentropes
	chartDome    = 36    // points of each saturation line below the fit's upper end
	chartNear    = 9     // points from there to the critical point
	chartLiquid  = 3     // points of an isotherm in the liquid, twice as many where it is hot and bends
	chartVapour  = 30    // in the vapour
	chartBetween = 2     // inside the dome of a blend with glide
)

// Chart samples the curves of the pressure–enthalpy diagram.
//
//   - in: which isotherms
//   - out: curves of states from well below −40 °C saturation (or the lowest of the fit) to 12 % above the critical
//     pressure or where the equation is published to, in the reference of the fit
//   - errors: [*num.NoConvergence] where the equation finds no state on the way to the critical point
//   - assumes: bulk composition everywhere; between the last saturation point that is found and the critical point
//     the line is drawn straight
//   - source: definition; the fit where it holds, the equation itself in liquid, inside the dome and near the critical point
//   - cost: about 20 ms for a four-component blend; keep the value, the package keeps none
func (f *Fit) Chart(o ChartOptions) (*Chart, error) {
	if !(o.Step > 0 && o.First > 0 && o.First < 2000) {
		o = ChartOptions{zeroCelsius, 20}
	}
	o.Step = math.Max(o.Step, 1)
	r, l := f.r, f.r.limits
	c := &Chart{fit: f, PMax: math.Min(chartTop*l.PCrit, l.PMax), ZeroASHRAE: math.NaN()}
	cold := math.Max(f.tMin, math.Min(zeroCelsius-chartCold, 0.75*l.TCrit))
	c.PMin = 0.4 * f.DewT(cold)
	c.PMin = math.Max(c.PMin, f.pMin)
	if e, err := r.BubbleT(zeroCelsius-chartCold, Options{}); err == nil {
		c.ZeroASHRAE = e.HLiquid
	}
	if err := c.dome(); err != nil {
		return nil, err
	}
	low := math.Max(c.Dew[0].T, l.TMin)
	for T := o.First + math.Ceil((low-o.First)/o.Step)*o.Step; T <= math.Min(l.TMax, zeroCelsius+chartHot); T += o.Step {
		line, err := c.isotherm(T)
		if err != nil {
			return nil, err
		}
		if len(line.Points) > 1 {
			c.Isotherms = append(c.Isotherms, line)
		}
	}
	c.isentropes()
	return c, nil
}

// bubbleAt and dewAt are saturation from the fit where it holds, else from the equation.
func (c *Chart) bubbleAt(T float64) (ChartPoint, error) {
	if f := c.fit; T >= f.tMin && T <= f.tMax {
		_, h, s := f.Liquid(T)
		return ChartPoint{f.BubbleT(T), h, T, s}, nil
	}
	e, err := c.fit.r.BubbleT(T, Options{})
	return ChartPoint{e.P, e.HLiquid, T, e.SLiquid}, err
}

func (c *Chart) dewAt(T float64) (ChartPoint, error) {
	if f := c.fit; T >= f.tMin && T <= f.tMax {
		_, h, s := f.DewVapour(T)
		return ChartPoint{f.DewT(T), h, T, s}, nil
	}
	e, err := c.fit.r.DewT(T, Options{})
	return ChartPoint{e.P, e.HVapour, T, e.SVapour}, err
}

func (c *Chart) dome() error {
	f, l := c.fit, c.fit.r.limits
	// Both lines begin at the pressure where the chart begins.
	for _, side := range []struct {
		line  *[]ChartPoint
		at    func(float64) (ChartPoint, error)
		start float64
	}{{&c.Bubble, c.bubbleAt, f.BubbleP(c.PMin)}, {&c.Dew, c.dewAt, f.DewP(c.PMin)}} {
		start := math.Max(side.start, f.tMin)
		for k := range chartDome {
			p, err := side.at(start + (f.tMax-start)*float64(k)/(chartDome-1))
			if err != nil {
				return err
			}
			*side.line = append(*side.line, p)
		}
		// Enthalpy runs to the critical point as the cube root of the distance in temperature, so the points are spaced by its cube.
		for k := chartNear - 1; k > 0; k-- {
			x := float64(k) / chartNear
			p, err := side.at(l.TCrit - (l.TCrit-f.tMax)*x*x*x)
			if err != nil {
				if k < 3 {
					break // so near that the line is as good as closed
				}
				return err
			}
			*side.line = append(*side.line, p)
		}
	}
	b, d := c.Bubble[len(c.Bubble)-1], c.Dew[len(c.Dew)-1]
	c.Critical = ChartPoint{P: l.PCrit, H: (b.H + d.H) / 2, T: l.TCrit, S: (b.S + d.S) / 2}
	if s, err := f.r.StateTD(l.TCrit, l.RhoCrit*(1+1e-6), Options{}); err == nil && s.H > b.H && s.H < d.H {
		c.Critical.H, c.Critical.S = s.H, s.S
	}
	c.Bubble, c.Dew = append(c.Bubble, c.Critical), append(c.Dew, c.Critical)
	return nil
}

// single is a state outside the dome.
func (c *Chart) single(p, T float64) (ChartPoint, error) {
	// In its upper corner the fit is at its worst.
	if f := c.fit; p >= f.pMin && p <= 0.8*f.pMax {
		if b := f.Isobar(p); T >= b.Dew && T <= b.Dew+maxSuper {
			h, _ := b.H(T)
			return ChartPoint{p, h, T, b.S(T)}, nil
		}
	}
	s, err := c.fit.r.StatePT(p, T, Options{})
	return ChartPoint{p, s.H, T, s.S}, err
}

func (c *Chart) isotherm(T float64) (ChartLine, error) {
	line := ChartLine{Value: T, Bubble: -1, Dew: -1}
	add := func(p ChartPoint, err error) error {
		line.Points = append(line.Points, p)
		return err
	}
	from, r := c.PMax, c.fit.r
	if T < r.limits.TCrit {
		b, err := c.bubbleAt(T)
		if err != nil {
			return line, err
		}
		d, err := c.dewAt(T)
		if err != nil {
			return line, err
		}
		n := chartLiquid
		if T > 0.85*r.limits.TCrit {
			n *= 2
		}
		for k := range n {
			if b.P > 0.999*c.PMax {
				break // the equation is not published to higher pressures
			}
			// Closer at the bubble line, where a hot liquid isotherm bends.
			x := 1 - float64(k)/float64(n)
			if err := add(c.single(b.P*math.Pow(c.PMax/b.P, x*x), T)); err != nil {
				return line, err
			}
		}
		line.Bubble = len(line.Points)
		line.Points = append(line.Points, b)
		if r.m.N > 1 && b.P > 1.005*d.P {
			for k := range chartBetween {
				s, err := r.StatePT(b.P+(d.P-b.P)*float64(k+1)/(chartBetween+1), T, Options{})
				if err := add(ChartPoint{s.P, s.H, T, s.S}, err); err != nil {
					return line, err
				}
			}
		}
		line.Dew = len(line.Points)
		line.Points = append(line.Points, d)
		from = d.P
	}
	// Vapour down to the beginning of the chart, as far as the fit knows superheat.
	for k := range chartVapour {
		if line.Dew >= 0 && k == 0 {
			continue
		}
		// Closer at high pressure, where vapour is far from a perfect gas and the isotherm bends.
		p := from * math.Pow(c.PMin/from, math.Pow(float64(k)/(chartVapour-1), 1.6))
		if p < c.fit.pMax && T > c.fit.DewP(p)+maxSuper {
			break
		}
		if err := add(c.single(p, T)); err != nil {
			return line, err
		}
	}
	return line, nil
}

func (c *Chart) isentropes() {
	f, l := c.fit, c.fit.r.limits
	T0 := math.Min(zeroCelsius, 0.85*l.TCrit)
	_, _, sL := f.Liquid(T0)
	_, _, sV := f.DewVapour(T0)
	step := (sV - sL) / chartSlices
	for k := range chartLines {
		s := sV + (float64(k)-0.5)*step
		line := ChartLine{Value: s, Bubble: -1, Dew: -1}
		for j := range chartVapour {
			p := c.PMin * math.Pow(f.pMax/c.PMin, float64(j)/(chartVapour-1))
			T, h := f.VapourPS(p, s)
			if dew := f.DewP(p); T < dew || T > math.Min(dew+maxSuper, l.TMax) {
				if len(line.Points) > 0 {
					break
				}
				continue
			}
			line.Points = append(line.Points, ChartPoint{p, h, T, s})
		}
		if len(line.Points) > 1 {
			c.Isentropes = append(c.Isentropes, line)
		}
	}
}

// At returns enthalpy and temperature where a saturation line (Bubble or Dew) crosses a pressure; false beyond its ends.
//
//   - in: a line of the chart; p, Pa
//   - out: J/kg, K
//   - source: definition; interpolation between the points in ln p
func (c *Chart) At(line []ChartPoint, p float64) (h, T float64, ok bool) {
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		if p >= math.Min(a.P, b.P) && p <= math.Max(a.P, b.P) && a.P != b.P {
			x := math.Log(p/a.P) / math.Log(b.P/a.P)
			return a.H + x*(b.H-a.H), a.T + x*(b.T-a.T), true
		}
	}
	return 0, 0, false
}
