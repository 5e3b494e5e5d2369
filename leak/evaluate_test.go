package leak

import (
	"math"
	"reflect"
	"testing"
)

// The next place by chance per minute takes less time than a fixed round (simulation). The seed is fixed, so the
// answer never changes by chance; the large run in docs/accuracy.md says the same with standard errors of two
// minutes.
func TestEvaluate(t *testing.T) {
	c := catalogue(t)
	a := c.Evaluate(1, 100, r404a)
	by := map[Plan]Score{}
	for _, s := range a {
		by[s.Plan] = s
		if s.N != 100 || s.MeanMinutes <= 0 || s.MeanMinutes > searchLimit || s.Within60 > s.Within+1e-9 || s.Within > 1+1e-9 ||
			math.IsNaN(s.FalseAlarms) {
			t.Errorf("%+v", s)
		}
	}
	if by[BestNext].MeanMinutes >= by[FixedOrder].MeanMinutes || by[WithHistory].MeanMinutes >= by[FixedOrder].MeanMinutes {
		t.Error("the ordered search is no faster than the fixed round")
	}
	if b := c.Evaluate(1, 100, r404a); !reflect.DeepEqual(a, b) {
		t.Error("the same seed gives another answer")
	}
}

func BenchmarkNext(b *testing.B) {
	c := catalogue(b)
	m := Machine{Receiver: true}
	s := New(c, m, r404a, c.SizeFrom(4000, nil))
	for b.Loop() {
		s.Next(running(), nil, m, nil)
	}
}
