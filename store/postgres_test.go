//go:build postgres

package store

import (
	"context"
	"os"
	"slices"
	"strings"
	"testing"

	"coldwright/app"
	"coldwright/store/storetest"
)

func TestPostgres_Contract(t *testing.T) {
	url := os.Getenv("COLDWRIGHT_TEST_POSTGRES")
	if url == "" {
		t.Fatal("set COLDWRIGHT_TEST_POSTGRES to the URL of an empty database")
	}
	ctx := context.Background()
	storetest.Run(t, func(t *testing.T) app.Store {
		s, err := OpenPostgres(ctx, url)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
		return s
	}, 10)
	s, err := OpenPostgres(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for _, q := range []string{"UPDATE events SET body = '{}'", "DELETE FROM events", "UPDATE blobs SET media = ''", "DELETE FROM blobs"} {
		if _, err := s.write.ExecContext(ctx, q); err == nil || !strings.Contains(err.Error(), "append-only") {
			t.Errorf("%s: %v", q, err)
		}
	}
	// All of it is whole, and what is changed past the program is named.
	v, err := VerifyPostgres(ctx, url)
	if err != nil || !v.Whole() || v.Events == 0 || len(v.Heads) == 0 {
		t.Errorf("%d events, %d heads, %+v %v", v.Events, len(v.Heads), v.Damage, err)
	}
	for _, q := range []string{
		"ALTER TABLE events DISABLE TRIGGER events_no_change",
		"UPDATE events SET actor = 'nobody' WHERE arrival = (SELECT MIN(arrival) FROM events)",
	} {
		if _, err := s.write.ExecContext(ctx, q); err != nil {
			t.Fatal(err)
		}
	}
	var keys []string
	v, err = VerifyPostgres(ctx, url)
	for _, d := range v.Damage {
		keys = append(keys, d.What.Key)
	}
	if err != nil || !slices.Contains(keys, "verify.schema") || !slices.Contains(keys, "verify.event") {
		t.Errorf("changed past the program: %v %v", keys, err)
	}
}
