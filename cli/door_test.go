package cli

import (
	"context"
	"crypto/rand"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/record"
	"coldwright/store"
)

// An event that bears the name of this folder and that it never wrote is refused: taken in, it would leave the folder
// no number of its own to go on with, and no backup.
func TestImport_OwnName(t *testing.T) {
	ctx := context.Background()
	s, err := store.OpenSQLite(ctx, filepath.Join(t.TempDir(), store.FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	a := app.New(s, app.Options{Now: time.Now, Rand: rand.Reader, Device: "van", Version: "test"})
	save := func() {
		t.Helper()
		if _, err := a.SaveSite(ctx, app.Act{}, "", record.SiteBody{Name: "Kitchen"}); err != nil {
			t.Fatal(err)
		}
	}
	save()
	for _, seq := range []int64{2, record.SeqLimit, math.MaxInt64} {
		for _, device := range []string{"van", "desk"} {
			line := fmt.Sprintf(`{"id":"01900000-0000-7000-8000-000000000001","device":"%s-%s","seq":%d,"at":"2026-05-01T08:00:00Z","site":"s",`+
				`"kind":"site_saved","version":1,"body":{"name":"Forged","altitude_m":0}}`, device, s.Name(), seq)
			plan, err := keep.PlanImport(ctx, a, strings.NewReader(line))
			if err != nil || plan.Added != 0 || len(plan.Rejected) != 1 {
				t.Errorf("%s %d: %+v %v", device, seq, plan, err)
			}
		}
	}
	save()
	events, _, err := s.Since(ctx, 0, 9)
	if err != nil || len(events) != 2 || events[1].Seq != 2 {
		t.Errorf("%+v %v", events, err)
	}
	if held, err := s.Quarantine(ctx, "", 9); err != nil || len(held) != 0 {
		t.Errorf("%+v %v", held, err)
	}
}
