package diagnose

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"

	"coldwright/internal/testkit"
)

// countdown is a context that is cancelled after it was asked so many times.
type countdown struct {
	context.Context
	left atomic.Int64
}

func (c *countdown) Err() error {
	if c.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// TestRun_Cancelled: whenever a run is cancelled it gives the answer it would have given, or the reason and no answer:
// never one that is only half worked out. Definition.
func TestRun_Cancelled(t *testing.T) {
	f, s := testkit.Fit(t, "R-404A"), benchSheet()
	full := printed(run(t, s, f, Options{NoPairs: true}))
	cancelled, answered := 0, 0
	for after := int64(0); answered == 0; after++ {
		ctx := &countdown{Context: context.Background()}
		ctx.left.Store(after)
		p, err := Run(ctx, Evidence{s, f}, Options{NoPairs: true})
		if err != nil {
			cancelled++
			if !errors.Is(err, context.Canceled) || len(p.Ranked) > 0 {
				t.Errorf("cancelled at question %d: %v, %d causes", after, err, len(p.Ranked))
			}
			continue
		}
		answered++
		if printed(p) != full {
			t.Errorf("cancelled at question %d: answered, but otherwise than in full", after)
		}
	}
	if cancelled < 20 {
		t.Errorf("the run asked %d times whether it is cancelled", cancelled)
	}
}
