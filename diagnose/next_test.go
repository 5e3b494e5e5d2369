package diagnose

import (
	"math"
	"strings"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// Information between two causes and one reading: far apart it is the entropy of the choice, one bit; the same
// prediction tells nothing; and two readings tell at least as much as one, together at most the choice. Source: Cover
// and Thomas (2006), Elements of Information Theory, ch. 2.
func TestOutcomes_Information(t *testing.T) {
	names, si := &causes{names: []string{"a", "b"}, of: [][]int{{0}, {1}}}, func(v float64) float64 { return v }
	w, one := []float64{0.5, 0.5}, []float64{1, 1}
	far, changes, answers := outcomes(w, []float64{0, 20}, one, names, si)
	if math.Abs(far-1) > 1e-3 || math.Abs(changes-0.5) > 1e-3 || len(answers) != 2 || answers[1].First != "b" || answers[1].Sure < 0.999 ||
		math.Abs(answers[1].Low-10) > 1.2 {
		t.Errorf("far apart: %g bit, changes %g, %v", far, changes, answers)
	}
	same, changes, _ := outcomes([]float64{0.7, 0.3}, []float64{5, 5}, one, names, si)
	if same > 1e-6 || changes > 1e-9 {
		t.Errorf("the same prediction tells %g bit, changes %g", same, changes)
	}
	// Two unit normals 2 apart: 0.486 bit (binary-input Gaussian channel at amplitude 1, by quadrature).
	near, _, _ := outcomes(w, []float64{-1, 1}, one, names, si)
	if math.Abs(near-0.486) > 2e-3 {
		t.Errorf("two standard deviations apart: %g bit, want 0.486", near)
	}
	both := informationOfTwo(w, []float64{-1, 1}, one, []float64{-1, 1}, one, []float64{0, 0})
	if both < near || both > 1 {
		t.Errorf("two readings tell %g bit, one %g", both, near)
	}
	// √2 times the distance in one direction: the same problem in one variable.
	root := math.Sqrt2
	line, _, _ := outcomes(w, []float64{-root, root}, one, names, si)
	if math.Abs(both-line) > 0.02 {
		t.Errorf("two independent readings tell %g bit, their sum %g", both, line)
	}
	// A second reading that errs with the first adds nothing.
	if copied := informationOfTwo(w, []float64{-1, 1}, one, []float64{-1, 1}, one, []float64{0.97, 0.97}); copied > near+0.03 {
		t.Errorf("a copy adds information: %g over %g", copied, near)
	}
}

func BenchmarkNextReading(b *testing.B) {
	f, s := testkit.Fit(b, "R-404A"), benchSheet()
	q, ranked := judged(b, s, f)
	for b.Loop() {
		q.next(ranked, nil, s)
	}
}

// TestNext_SecondThermometer: where the box's own thermometer is the only one, a probe beside it is among the
// readings offered, and a lying display would show there as a difference. Common practice, no source.
func TestNext_SecondThermometer(t *testing.T) {
	s := freezer(1, 76, 16, 235, reading.Clear)
	s.Readings[0].At = reading.BoxDisplay
	p := run(t, s, testkit.Fit(t, "R-404A"), Options{})
	for _, n := range p.Next {
		if n.At == reading.BoxAir.String() {
			return
		}
	}
	t.Errorf("no probe offered: %+v", p.Next)
}

// TestNext_CausesOnce: what a reading would show is said of each cause once, with the cause's marginal; and so are the
// answers, whose shares are those of the causes that would then be first.
func TestNext_CausesOnce(t *testing.T) {
	s := freezer(6, 80, 26, 250, reading.Clear)
	s.Readings = append(s.Readings, reading.Reading{At: reading.CoilOutletLine, Value: degF(2)})
	p := run(t, s, testkit.Fit(t, "R-404A"), Options{})
	if len(p.Next) == 0 {
		t.Fatal("nothing to read")
	}
	for _, n := range p.Next {
		seen := map[string]bool{}
		for i, x := range n.Shows {
			if i > 0 && x.Probability > n.Shows[i-1].Probability+1e-9 {
				t.Errorf("%s: %s stands behind what is less likely: %+v", n.At, x.Name, n.Shows)
			}
			if seen[x.Name] || strings.Contains(x.Name, "+") {
				t.Errorf("%s shows %s twice or as two: %+v", n.At, x.Name, n.Shows)
			}
			seen[x.Name] = true
			code, _ := fault.Parse(x.Name)
			want := p.Marginal(code)
			if code == fault.Healthy {
				want = p.PHealthy
			}
			if math.Abs(x.Probability-want) > 0.02 {
				t.Errorf("%s, %s: %.3f, its marginal %.3f", n.At, x.Name, x.Probability, want)
			}
		}
	}
	// A second suspect that is there mostly beside the first is not hidden by it.
	r := rivals{hs: make([]*hypothesis, 3)}
	for i, of := range [][]string{{"a"}, {"a", "b"}, {"c"}} {
		r.hs[i] = &hypothesis{posterior: []float64{0.5, 0.35, 0.15}[i]}
		r.causes.add(of...)
	}
	got := r.shows(func(i int) Band { return Band{Mid: float64(i)} })
	if len(got) != 3 || got[0].Name != "a" || got[1].Name != "b" || got[1].Band.Mid != 1 || got[2].Name != "c" {
		t.Errorf("shown: %+v", got)
	}
	// Of two hypotheses with one cause in common that cause is first though each alone is behind.
	c := &causes{}
	c.add("x")
	c.add("y")
	c.add("y", "z")
	if k, w := c.first([]float64{0.4, 0.3, 0.3}, make([]float64, 3)); c.names[k] != "y" || math.Abs(w-0.6) > 1e-12 {
		t.Errorf("first is %s with %g", c.names[k], w)
	}
}

// TestNext_DecidingIsOffered: what alone decides a cause that may well be there is on the list, however long it takes:
// standing pressure for a gas that does not condense, the coil's pressure for a drop in the suction line.
func TestNext_DecidingIsOffered(t *testing.T) {
	quick := make([]Next, 6)
	for i := range quick {
		quick[i] = Next{At: "quick", Bits: 0.3}
	}
	all := append(quick, Next{At: "standing_pressure", Bits: 0.2}, Next{At: "other", Bits: 0.2})
	air := &fault.Fault{Code: fault.Noncondensables}
	hs := []*hypothesis{{faults: []*fault.Fault{air}}, {}}
	tells := func(bits float64) func([]float64, []bool) float64 {
		return func(_ []float64, has []bool) float64 {
			if has[0] && !has[1] {
				return bits
			}
			return 0
		}
	}
	questions := []question{{"quick", 5, tells(0.05)}, {"standing_pressure", 53, tells(0.6)}, {"other", 53, tells(0.3)}}
	for _, c := range []struct {
		p    float64
		want int
	}{{0.3, 7}, {0.05, 6}} {
		got := deciding(all, 6, []Marginal{{fault.Noncondensables, c.p}}, hs, []float64{c.p, 1 - c.p}, questions)
		if len(got) != c.want || c.want == 7 && got[6].At != "standing_pressure" {
			t.Errorf("at %.2f: %v", c.p, got)
		}
	}
}
