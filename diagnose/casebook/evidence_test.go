package casebook

import (
	"context"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
)

// A reading that stands where a healthy machine would show it today does not speak against nothing being wrong, whatever
// cause it is held against: a page that says "as on a healthy machine" and "against a healthy machine" of one reading is
// wrong once. Property, over visits of every cause and several sets of readings; that readings outside their band do
// speak for the first cause, mostly, is counted beside it.
func TestEvidence_InsideNeverAgainstHealthy(t *testing.T) {
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	var fits Fits
	inside, outside, against := 0, 0, 0
	for k, see := range []View{{Set: 'b'}, {Set: 'd'}, {Set: Full, OnFile: true}} {
		visits, err := World{Kind: Kinds()[k], Law: Spread}.Visits(uint64(20+k), 1, &cat, &fits)
		if err != nil {
			t.Fatal(err)
		}
		answers, err := Judge(context.Background(), visits, see, diagnose.Options{NoPairs: k > 0})
		if err != nil {
			t.Fatal(err)
		}
		for i := range answers {
			for r, h := range answers[i].Ranked {
				runnerHealthy := len(answers[i].Ranked) > 1 && r == 0 && answers[i].Ranked[1].Name() == fault.Healthy.String()
				for _, it := range h.Evidence {
					b := it.IfHealthy
					if it.Word != "" || b.Low >= b.High {
						continue
					}
					if it.Measured < b.Low || it.Measured > b.High {
						if r == 0 && h.Name() != fault.Healthy.String() {
							outside++
							if it.NatsAgainstHealthy > 0 {
								against++
							}
						}
						continue
					}
					inside++
					if it.NatsAgainstHealthy > 0 || runnerHealthy && it.NatsAgainstRunner > 0 {
						t.Errorf("%v, %s, %s: %.4g lies in %.4g to %.4g, %.2f nats against healthy", visits[i].Truth(), h.Name(), it.At,
							it.Measured, b.Low, b.High, it.NatsAgainstHealthy)
					}
				}
			}
		}
	}
	if inside < 1000 || outside < 50 || 4*against < 3*outside {
		t.Errorf("%d readings inside; of %d outside %d speak against healthy", inside, outside, against)
	}
	t.Logf("%d inside; of %d outside %d speak against healthy", inside, outside, against)
}
