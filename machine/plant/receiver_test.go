package plant

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// TestMeanVoid: the closed form against the sum over small steps of Zivi's formula, and its limits: all liquid, all
// vapour, one density.
func TestMeanVoid(t *testing.T) {
	for _, c := range [][2]float64{{20, 1200}, {80, 1000}, {5, 600}} {
		slip := math.Pow(c[0]/c[1], 2.0/3)
		for _, x := range [][2]float64{{0, 1}, {0.2, 1}, {0.3, 0.7}, {0, 0.05}} {
			sum, n := 0.0, 200000
			for i := range n {
				q := x[0] + (x[1]-x[0])*(float64(i)+0.5)/float64(n)
				sum += q / (slip + (1-slip)*q) / float64(n)
			}
			if got := MeanVoid(c[0], c[1], x[0], x[1]); math.Abs(got-sum) > 1e-6 {
				t.Errorf("densities %v, vapour %v: %.8f, summed %.8f", c, x, got, sum)
			}
		}
	}
	if MeanVoid(20, 1200, 0, 0) != 0 || math.Abs(MeanVoid(20, 1200, 1, 1)-1) > 1e-15 {
		t.Error("liquid or vapour alone is not 0 or 1")
	}
	if got := MeanVoid(999.999999, 1000, 0, 1); math.Abs(got-0.5) > 1e-6 {
		t.Errorf("one density: %.9f, want a half", got)
	}
}

// TestReceiver_Charge: with a receiver a deficit counts below the just-empty charge and too much does not circulate;
// without one both change the circuit.
func TestReceiver_Charge(t *testing.T) {
	with, without := receiver{fitted: true, reserve: 0.35, justEmpty: 2}, receiver{justEmpty: 2}
	if got := with.charge(&Change{LowCharge: 0.25, OverCharge: 0.4}); got != 1.5 {
		t.Errorf("receiver: %g in the circuit, by hand 1.5", got)
	}
	if got := without.charge(&Change{LowCharge: 0.25}); got != 1.5 {
		t.Errorf("no receiver: %g, by hand 1.5", got)
	}
	if got := without.charge(&Change{OverCharge: 0.25}); got != 2.5 {
		t.Errorf("no receiver: %g, by hand 2.5", got)
	}
	if got := with.full(); math.Abs(got*(1-0.35)-2) > 1e-15 {
		t.Errorf("full charge %g", got)
	}
}

// TestInventory_Sum: the charge of a state is the sum over volumes and densities, with those of the equation's fit
// looked up again, where every part holds one phase or a mean of two.
func TestInventory_Sum(t *testing.T) {
	p := machine(t, "R-404A", true, reading.Valve)
	in := at(0, 80)
	r := p.Solve(in, Change{}, Options{})
	var s state
	p.eval(in, &Change{}, r.Mode, &r.U, &s)
	f, d := p.f, p.design
	pc := f.DewT(r.U[2])
	rv, _, _ := f.Vapour(pc, r.U[2])
	rlC := f.LiquidRho(f.BubbleP(pc))
	void := MeanVoid(rv, rlC, 0, 1)
	area := s.zones.sum()
	want := d.VC * (s.zones.desuperheating/area*rv + s.zones.condensing/area*(void*rv+(1-void)*rlC))
	want += d.VL * f.LiquidRho(r.Out[LiquidLineT])
	pe := f.DewT(r.U[0])
	rg, _, _ := f.Vapour(pe, r.U[0])
	rl := f.LiquidRho(f.BubbleP(pe))
	void = MeanVoid(rg, rl, s.evaporator.vapourIn, 1)
	out, _, _ := f.Vapour(pe, r.Out[CoilOutletT])
	want += d.VE * (s.evaporator.wetted*(void*rg+(1-void)*rl) + (1-s.evaporator.wetted)*out)
	suction, _, _ := f.Vapour(s.suction.p, r.Out[SuctionLineT])
	want += d.VS*suction + d.VR*rv
	if math.Abs(s.charge/want-1) > 1e-3 || math.Abs(r.Out[ChargeShare]*p.receiver.justEmpty/s.charge-1) > 1e-12 {
		t.Errorf("charge %.5f, by parts %.5f", s.charge, want)
	}
}

// TestStanding_Blend: a machine stopped and equalised stands at the pressure the equation of state gives for liquid
// and vapour together (another way of computing than the fit); gas that does not condense adds its share.
func TestStanding_Blend(t *testing.T) {
	r448, err := refrigerant.Load("R-448A")
	if err != nil {
		t.Fatal(err)
	}
	p := machine(t, "R-448A", true, reading.Valve)
	for _, T := range []float64{285, 300, 310} {
		r := p.Solve(Inputs{BoxT: p.design.BoxT, AmbientT: T}, Change{}, Options{})
		s, err := r448.StateTX(T, coef.standing.vapour, refrigerant.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got := p.f.DewT(r.Out[StandingT]); math.Abs(got/s.P-1) > 0.02 {
			t.Errorf("standing at %g K: %.0f Pa, the equation %.0f with %g vapour", T, got, s.P, coef.standing.vapour)
		}
	}
	f := testkit.Fit(t, "R-134a")
	T := standing(f, 300, 0, 0)
	if math.Abs(T-300) > 1e-6 {
		t.Errorf("a pure refrigerant stands at %.8f K in air of 300", T)
	}
	gas := 0.5 * units.Bar
	if got := f.DewT(standing(f, 300, 0, gas)) - f.DewT(300); math.Abs(got-coef.standing.gas*gas) > 1 {
		t.Errorf("half a bar of gas adds %.0f Pa", got)
	}
}
