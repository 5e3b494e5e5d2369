//go:build postgres

package store

import (
	"context"
	"os"
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
}
